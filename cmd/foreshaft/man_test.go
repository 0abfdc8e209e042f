package main

import (
	"bytes"
	"os/exec"
	"regexp"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// everyCommand returns what a command line can name: all commands that help shows, the
// program itself first.
func everyCommand() []*cobra.Command {
	list := []*cobra.Command{rootCommand()}
	for i := 0; i < len(list); i++ {
		for _, c := range list[i].Commands() {
			if !c.Hidden {
				list = append(list, c)
			}
		}
	}
	return list
}

// manPage is the manual as the program writes it.
func manPage(t testing.TB) string {
	t.Helper()
	r := runPlain(t, "", nil, "man")
	if r.code != done || r.stderr != "" {
		t.Fatalf("man ended with %d and says %q", r.code, r.stderr)
	}
	return r.stdout
}

func TestManualHasEveryCommandAndItsFlags(t *testing.T) {
	t.Parallel()
	page := strings.NewReplacer(`\fB`, "", `\fI`, "", `\fR`, "").Replace(manPage(t))
	commands := everyCommand()
	if len(commands) < 18 {
		t.Fatalf("only %d commands", len(commands))
	}
	for _, c := range commands {
		has := func(section, words string) bool { return strings.Contains(section, roff(words)) }
		_, section, found := strings.Cut(page, "\n.SS \""+roff(c.CommandPath()))
		if !c.HasParent() {
			_, section, found = strings.Cut(page, "\n.SH OPTIONS")
			c.InitDefaultVersionFlag()
		}
		if !found {
			t.Errorf("%s is not in the manual", c.CommandPath())
			continue
		}
		section, _, _ = strings.Cut(section, "\n.S")
		if !has(section, c.Short) && c.HasParent() {
			t.Errorf("%s: it does not say %q", c.CommandPath(), c.Short)
		}
		for _, words := range strings.Split(c.Long+"\n"+c.Example, "\n") {
			if !has(page, strings.TrimSpace(words)) {
				t.Errorf("%s: it does not say %q", c.CommandPath(), words)
			}
		}
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if !has(section, "--"+f.Name+" ") && !has(section, "--"+f.Name+"\n") {
				t.Errorf("%s: --%s is not in the manual", c.CommandPath(), f.Name)
			}
			if !has(section, f.Usage) {
				t.Errorf("%s: --%s: it does not say %q", c.CommandPath(), f.Name, f.Usage)
			}
		})
	}
	if !strings.Contains(page, roff("-h, --help")) {
		t.Error("--help is not in the manual")
	}
}

// Two runs are the same page, or no two releases could be.
func TestManualHasNothingOfTheRun(t *testing.T) {
	t.Parallel()
	page := manPage(t)
	if again := manPage(t); page != again {
		t.Errorf("two runs differ:\n%s\n%s", page, again)
	}
	root := rootCommand()
	for _, day := range []string{"", "2026-01-02"} {
		if first, _, _ := strings.Cut(manual(root, day), "\n"); !strings.HasPrefix(first, `.TH "FORESHAFT" 1 "`+day+`" "foreshaft `) {
			t.Errorf("it begins with %s", first)
		}
	}
}

func TestManualIsReadWithoutAWarning(t *testing.T) {
	t.Parallel()
	page := manPage(t)
	for _, r := range page {
		if r != '\n' && (r < ' ' || r > '~') {
			t.Errorf("it has the sign %q", r)
		}
	}
	request := regexp.MustCompile(`^\.(TH|SH|SS|PP|TP|B|br|nf|fi|RS|RE)( |$)`)
	for line := range strings.SplitSeq(strings.TrimSuffix(page, "\n"), "\n") {
		if strings.HasPrefix(line, "'") || strings.HasPrefix(line, ".") && !request.MatchString(line) || line == "" {
			t.Errorf("a line would be read as a request: %q", line)
		}
	}
	// Words that a formatter could take for something else come out as they went in.
	odd := &cobra.Command{
		Use: "odd", Short: `What \n "is" odd`, Run: func(*cobra.Command, []string) {},
		Example: "  .br 'x' `y` ^z ~w \\\\ -- \"q\"\n  'sp\n  ..",
	}
	root := rootCommand()
	root.AddCommand(odd)
	said := formatted(t, manual(root, "2026-01-02"))
	for _, words := range []string{"2026-01-02", `What \n "is" odd.`, "  .br 'x' `y` ^z ~w \\\\ -- \"q\"\n", "  'sp\n", "  ..\n", "FORESHAFT_WORKBOOK"} {
		if !strings.Contains(said, words) {
			t.Errorf("the formatted page does not have %q", words)
		}
	}
	said = formatted(t, page)
	for _, c := range everyCommand() {
		for example := range strings.Lines(c.Example) {
			if !strings.Contains(said, " "+strings.TrimSpace(example)+"\n") {
				t.Errorf("the formatted page does not have the line %q", example)
			}
		}
	}
}

// formatted returns a page as groff prints it, without emphasis, and fails when it warns.
func formatted(t testing.TB, page string) string {
	t.Helper()
	groff, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("there is no groff to read the page")
	}
	cmd := exec.Command(groff, "-man", "-Tutf8", "-ww", "-P-cbou")
	var stdout, stderr bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = strings.NewReader(page), &stdout, &stderr
	if err := cmd.Run(); err != nil || stderr.Len() > 0 {
		t.Errorf("groff: %v\n%s", err, &stderr)
	}
	return stdout.String()
}

func TestVersionSaysWhatWasBuilt(t *testing.T) {
	t.Parallel()
	revision := debug.BuildSetting{Key: "vcs.revision", Value: "0cafd4c1234567890abcdef01234567890abcdef"}
	when := debug.BuildSetting{Key: "vcs.time", Value: "2026-01-02T15:04:05Z"}
	clean, changed := debug.BuildSetting{Key: "vcs.modified", Value: "false"}, debug.BuildSetting{Key: "vcs.modified", Value: "true"}
	for _, c := range []struct {
		module   string
		settings []debug.BuildSetting
		want     string
	}{
		{"", nil, ""},
		{"(devel)", nil, "devel"},
		{"(devel)", []debug.BuildSetting{revision, when, changed}, "devel 0cafd4c12345 +changes"},
		{"v1.2.0", []debug.BuildSetting{revision, when, clean}, "v1.2.0 0cafd4c12345"},
		{"v1.2.0+dirty", []debug.BuildSetting{revision, when, changed}, "v1.2.0 0cafd4c12345 +changes"},
		{"v0.0.0-20260102150405-0cafd4c12345", []debug.BuildSetting{revision, when, clean}, "v0.0.0-20260102150405-0cafd4c12345"},
		{"v0.0.0-20260102150405-0cafd4c12345+dirty", []debug.BuildSetting{revision, when, changed}, "v0.0.0-20260102150405-0cafd4c12345 +changes"},
		{"v1.2.0", []debug.BuildSetting{{Key: "vcs.revision", Value: "short"}}, "v1.2.0 short"},
	} {
		if got := versionOf(&debug.BuildInfo{Main: debug.Module{Version: c.module}, Settings: c.settings}); got != c.want {
			t.Errorf("%s %v gives %q, want %q", c.module, c.settings, got, c.want)
		}
	}
	r := runPlain(t, "", nil, "--version")
	want := regexp.MustCompile(`^foreshaft \S.*, ` + regexp.QuoteMeta(runtime.Version()+" "+runtime.GOOS+"/"+runtime.GOARCH) + `\n$`)
	if r.code != done || r.stderr != "" || !want.MatchString(r.stdout) {
		t.Errorf("--version ended with %d and says %q %q", r.code, r.stdout, r.stderr)
	}
}
