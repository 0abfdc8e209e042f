package text

import (
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// ambiguous holds characters of the screens that some locales draw two cells
// wide.
const ambiguous = "±─│½▲◆"

// narrowVariable makes the test binary print the width of the ambiguous
// characters and end, so that the locale can be set before anything starts.
const narrowVariable = "FORESHAFT_TEXT_CHILD"

func TestMain(m *testing.M) {
	if os.Getenv(narrowVariable) != "" {
		for _, r := range ambiguous {
			_, _ = os.Stdout.WriteString(strconv.Itoa(Width(string(r))))
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func TestAmbiguousCharactersCountOneInEveryLocale(t *testing.T) {
	for _, locale := range []string{"C", "en_US.UTF-8", "ja_JP.UTF-8", "zh_CN.UTF-8"} {
		child := exec.Command(os.Args[0])
		child.Env = []string{narrowVariable + "=1", "LC_ALL=" + locale}
		out, err := child.Output()
		if err != nil {
			t.Fatal(err)
		}
		if got, want := string(out), "111111"; got != want {
			t.Errorf("%s: widths of %s are %s, want %s", locale, ambiguous, got, want)
		}
	}
}

func TestWidth(t *testing.T) {
	for _, c := range []struct {
		s    string
		want int
	}{
		{"", 0},
		{"insert", 6},
		{"14.9 ± 0.2 %", 12},
		{">╞══▲══■▷", 9},
		{"日本", 4},
		{"e\u0301", 1},
		{"\x1b[38;5;208mwarn\x1b[0m", 4},
		{"\x1b[1m\x1b[0m", 0},
	} {
		if got := Width(c.s); got != c.want {
			t.Errorf("Width(%q) = %d, want %d", c.s, got, c.want)
		}
	}
}

func TestCut(t *testing.T) {
	for _, c := range []struct {
		s    string
		w    int
		want string
	}{
		{"brass", 5, "brass"},
		{"brass", 4, "bra…"},
		{"brass", 1, "…"},
		{"brass", 0, ""},
		{"brass", -3, ""},
		{"日本語", 5, "日本…"},
		{"日本語", 4, "日…"},
		{"cafe\u0301s", 5, "cafe\u0301s"},
		{"cafe\u0301s", 4, "caf…"},
		// The library measures each of these as two cells but cuts by one.
		{"1\ufe0f\u20e32\ufe0f\u20e33\ufe0f\u20e3", 4, "1\ufe0f\u20e3…"},
		{"\x1b[1mbrass\x1b[0m", 3, "\x1b[1mbr…\x1b[0m"},
		{"\x1b[1m日本\x1b[0m", 2, "\x1b[1m…\x1b[0m"},
		{"50 gr \x1b[1mbrass\x1b[0m", 4, "50 …\x1b[1m\x1b[0m"},
	} {
		if got := Cut(c.s, c.w); got != c.want {
			t.Errorf("Cut(%q, %d) = %q, want %q", c.s, c.w, got, c.want)
		}
	}
}

func TestPlacing(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want string
	}{
		{"Pad", Pad("nock", 6), "nock  "},
		{"Pad cuts", Pad("nock", 3), "no…"},
		{"Pad fills a split wide character", Pad("日本語", 4), "日… "},
		{"Pad nothing", Pad("nock", 0), ""},
		{"PadLeft", PadLeft("9.5", 6), "   9.5"},
		{"PadLeft cuts", PadLeft("1234", 3), "12…"},
		{"PadLeft negative", PadLeft("9.5", -1), ""},
		{"Center even", Center("ab", 6), "  ab  "},
		{"Center odd", Center("ab", 5), " ab  "},
		{"Center cuts", Center("abcdef", 3), "ab…"},
		{"Center nothing", Center("ab", 0), ""},
		{"Pad keeps the paint", Pad("\x1b[1mab\x1b[0m", 3), "\x1b[1mab\x1b[0m "},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		s    string
		w    int
		want []string
	}{
		{"", 10, []string{""}},
		{"one two three", 8, []string{"one two", "three"}},
		{"one two three", 7, []string{"one two", "three"}},
		{"one   two", 20, []string{"one two"}},
		{"one\n\ntwo", 20, []string{"one", "", "two"}},
		{"broadhead", 4, []string{"broa", "dhea", "d"}},
		{"a broadhead", 4, []string{"a", "broa", "dhea", "d"}},
		{"at -5.3 ft/s", 4, []string{"at", "-5.3", "ft/s"}},
		{"is 29.5\u00a0in long", 8, []string{"is", "29.5\u00a0in", "long"}},
		{"日本語", 4, []string{"日本", "語"}},
		{"日本", 1, []string{"…", "…"}},
		{"one", 0, nil},
	} {
		got := Wrap(c.s, c.w)
		if strings.Join(got, "|") != strings.Join(c.want, "|") || len(got) != len(c.want) {
			t.Errorf("Wrap(%q, %d) = %q, want %q", c.s, c.w, got, c.want)
		}
	}
}

func TestBlock(t *testing.T) {
	for _, c := range []struct {
		name  string
		lines []string
		w, h  int
		want  []string
	}{
		{"fills", []string{"a"}, 2, 3, []string{"a ", "  ", "  "}},
		{"drops", []string{"a", "b", "c"}, 1, 2, []string{"a", "b"}},
		{"cuts", []string{"abc"}, 2, 1, []string{"a…"}},
		{"no width", []string{"abc"}, 0, 1, []string{""}},
		{"no height", []string{"abc"}, 3, 0, nil},
		{"negative", []string{"abc"}, -1, -1, nil},
	} {
		got := Block(c.lines, c.w, c.h)
		if strings.Join(got, "|") != strings.Join(c.want, "|") || len(got) != len(c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestKnowsNoTerminalFramework lets the files here import the standard library
// and the one package that measures cells.
func TestKnowsNoTerminalFramework(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, spec := range file.Imports {
			path, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			first, _, _ := strings.Cut(path, "/")
			if strings.Contains(first, ".") && path != "github.com/charmbracelet/x/ansi" {
				t.Errorf("%s imports %s", name, path)
			}
			checked++
		}
	}
	if checked == 0 {
		t.Error("no import was looked at")
	}
}
