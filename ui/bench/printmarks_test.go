package bench

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/ticket"
)

// printed opens the prompt for a file, types a name where one is given, and
// accepts.
func printed(m *Model, name string) Request {
	press(m, "p")
	write(m, name)
	return press(m, "enter")
}

// Every ending makes its kind of file, of the build in focus and from the nearest
// of the distances to the farthest.
func TestMarksAreWrittenInTheFormatOfTheEnding(t *testing.T) {
	for name, begins := range map[string]string{"": "<!doctype html>", "marks.html": "<!doctype html>", "A/b.SVG": "<svg", "x.svg": "<svg", "my marks.txt": "Sight marks of Even keel", "T.Txt": "Sight marks of Even keel"} {
		m, r := onRange(t, nil)
		press(m, "right", "x", "up") // 20 to 50 yd
		before := m.Job().Encode()
		w, ok := printed(m, name).(Write)
		want := name
		if name == "" {
			want = "even-keel-marks.html"
		}
		if !ok || w.Path != want || w.What != "the marks of B Even keel" || m.dialog != r {
			t.Fatalf("%q asks for %+v in %T and says %q", name, w, m.dialog, m.message)
		}
		kept(t, m, before, "after printing")
		if data := string(w.Data); !strings.HasPrefix(strings.ToLower(strings.TrimLeft(data, " \n")), strings.ToLower(begins)) || !utf8.ValidString(data) {
			t.Errorf("%q begins with %.80q, want %q", name, w.Data, begins)
		}
		// What stands in the file is what the strip of that build says.
		strip, err := ticket.MarksOf(m.session.Sheet(), 1, 20*unit.Yard, 50*unit.Yard)
		if err != nil {
			t.Fatal(err)
		}
		ending := strings.TrimPrefix(filepath.Ext(want), ".")
		if data, err := strip.As(ending); err != nil || string(data) != string(w.Data) || len(strip.Marks) != 31 {
			t.Errorf("%q holds %d bytes and not the %d marks of B from 20 to 50 yd: %v", name, len(w.Data), len(strip.Marks), err)
		}
	}
}

func TestOtherEndingsAreRefusedWithASentence(t *testing.T) {
	for _, name := range []string{"marks", "marks.", "marks.pdf", "marks.html.exe", "marks html", ".", "..", "/", "marks.txt/", "~"} {
		m, _ := onRange(t, nil)
		before := m.Job().Encode()
		if q := printed(m, name); q != nil {
			t.Errorf("%q asks for %+v", name, q)
		}
		kept(t, m, before, "after "+name)
		if !m.Typing() || typedText(t, m) != name || !strings.HasSuffix(m.message, ".") {
			t.Errorf("%q: the field is open %v and it says %q", name, m.Typing(), m.message)
		}
		for _, ending := range ticket.Formats {
			if !strings.Contains(m.message, ending) {
				t.Errorf("%q: it says %q and nothing of %s", name, m.message, ending)
			}
		}
		for range len(name) {
			press(m, "backspace")
		}
		write(m, "marks.txt")
		if w, ok := press(m, "enter").(Write); !ok || w.Path != "marks.txt" {
			t.Errorf("mended, %q asks for %+v", name, w)
		}
	}
	m, _ := onRange(t, nil)
	press(m, "p", "backspace")
	if q := press(m, "enter"); q != nil || !m.Typing() {
		t.Errorf("no name asks for %+v", q)
	}
	if press(m, "esc"); m.message != "Left as it was." {
		t.Errorf("Esc says %q", m.message)
	}
}

// Whatever a build is called, the proposed name is one plain word in this folder.
func TestTheProposedFileNameIsSafe(t *testing.T) {
	plain := regexp.MustCompile(`^[\pL\pN]+(-[\pL\pN]+)*-marks\.html$`)
	for name, want := range map[string]string{
		"Open ground": "open-ground", "../../etc/passwd": "etc-passwd", "-rf ~/*": "rf", "a;b|c&d$(e)`f`": "a-b-c-d-e-f", "C:\\con": "c-con", ".hidden": "hidden",
		"": "build", " ": "build", "…": "build", "👩‍👩‍👧‍👦": "build", "Élan 矢 №7": "élan-矢-7", "x\x00y\nz": "x-y-z", "\u202egnp.exe": "gnp-exe", "50 % / 60": "50-60",
		strings.Repeat("x", 10000): strings.Repeat("x", 30), strings.Repeat("ab ", 1000): "ab-ab-ab-ab-ab-ab-ab-ab-ab-ab", strings.Repeat("矢", 500): strings.Repeat("矢", 30),
		strings.Repeat("\u1161", 5000): strings.Repeat("\u1161", 30), // letters that take no cell
	} {
		if got := fileName(name); got != want {
			t.Errorf("%.40q gives %q, want %q", name, got, want)
		}
	}
	for n, name := range hostileNames {
		m, _ := onRange(t, func(j *job.Job) { j.Builds[0].Name = fmt.Sprintf("%s%d", name, n) })
		press(m, "p")
		typed := typedText(t, m)
		if !plain.MatchString(typed) || utf8.RuneCountInString(typed) > 45 || filepath.Base(typed) != typed || strings.ContainsFunc(typed, unicode.IsSpace) {
			t.Errorf("a build called %.40q is to be written to %q", name, typed)
		}
		w, ok := press(m, "enter").(Write)
		if !ok || w.Path != typed || len(w.Data) == 0 {
			t.Errorf("%.40q asks for %+v", name, w)
		}
		m.Written(w, "/home/somebody/"+typed, nil)
		for _, size := range sizes {
			m.SetSize(size[0], size[1])
			checkFrame(t, "written", m.Lines(), size[0], size[1])
		}
		if strings.ContainsAny(m.message, "\x1b\u202e\u009b") {
			t.Errorf("it says %q", m.message)
		}
	}
}

func TestWhatBecameOfTheFileIsSaid(t *testing.T) {
	m, r := onRange(t, nil)
	w := printed(m, "").(Write)
	m.Written(w, "/home/somebody/open-ground-marks.html", nil)
	if m.alerting() || m.message != "Wrote the marks of A Open ground to /home/somebody/open-ground-marks.html." {
		t.Errorf("it says %q", m.message)
	}
	m.Written(w, "/there/open-ground-marks.html", errors.New("/there/open-ground-marks.html is there already and was left alone"))
	if !m.alerting() || m.message != "Not written. /there/open-ground-marks.html is there already and was left alone" || m.under[0] != r {
		t.Errorf("it says %q", m.message)
	}
	shows(t, m, "Not written. ")
	// The name stands there to be mended, and the data go with it.
	write(m, "other.html")
	if again, ok := press(m, "enter").(Write); !ok || again.Path != "other.html" || !bytes.Equal(again.Data, w.Data) || m.dialog != r {
		t.Errorf("it asks for %+v", again)
	}
}

func TestTheStripGoesByTheUnitsOfTheScreen(t *testing.T) {
	m, _ := onRange(t, nil)
	press(m, "p")
	if !strings.Contains(m.message, "Marks of Open ground for every yard.") {
		t.Errorf("it says %q", m.message)
	}
	press(m, "esc")
	m.setUnits(metric) // 20 to 60 yd are 18.3 to 54.9 m
	press(m, "p")
	if !strings.Contains(m.message, "Marks of Open ground for every metre.") {
		t.Errorf("it says %q", m.message)
	}
	write(m, "m.txt")
	w := press(m, "enter").(Write)
	for metre, want := range map[string]bool{"18": false, "19": true, "40": true, "54": true, "55": false} {
		if has := regexp.MustCompile(` ` + metre + ` +\d+\.\d\d\b`).Match(w.Data); has != want {
			t.Errorf("a mark for %s m: %v, want %v:\n%s", metre, has, want, w.Data)
		}
	}
	// Between two distances without a whole yard there is nothing to print.
	m, _ = onRange(t, func(j *job.Job) { j.Distances = []unit.Length{20.4 * unit.Yard, 20.6 * unit.Yard} })
	if q := printed(m, "x.txt"); q != nil || !m.Typing() || !strings.Contains(m.message, "no whole yd between 20.4 yd and 20.6 yd") {
		t.Errorf("it asks for %+v and says %q", q, m.message)
	}
}
