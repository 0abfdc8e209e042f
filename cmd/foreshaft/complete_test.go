package main

import (
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"foreshaft/engine/unit"
)

// What a shell does with an answer: bits of the number that ends it.
const (
	namesFiles = ":0\n" // where the answer has no words, files are offered
	wordsOnly  = ":4\n"
	moreBehind = ":6\n" // words only, and no blank behind one
)

// completed asks the program as a shell does and returns the words that it offers,
// without their descriptions, and what the shell is to do.
func completed(t testing.TB, args ...string) (words []string, then string) {
	t.Helper()
	r := runPlain(t, "", nil, append([]string{"__complete"}, args...)...)
	at := strings.LastIndex("\n"+r.stdout, "\n:")
	if r.code != done || at < 0 {
		t.Fatalf("%q: ended with %d and wrote %q", args, r.code, r.stdout)
	}
	for line := range strings.Lines(r.stdout[:at]) {
		word, _, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
		words = append(words, word)
	}
	return words, r.stdout[at:]
}

func TestCompletionOffersWhatCanStandThere(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		line, words, then string
	}{
		{"fi", "figures", wordsOnly},
		{"comp", "compact completion", wordsOnly},
		{"drawer ", "export import", wordsOnly},
		{"figures --js", "--json", wordsOnly},
		{"figures ", "", namesFiles},
		{"figures job.json ", "", wordsOnly},
		{"import --take ", "", namesFiles},
		{"drawer import ", "", namesFiles},
		{"check ", "", namesFiles},
		{"restore ", "", namesFiles},
		{"ticket ", "", wordsOnly},
		{"ticket --job ", "", namesFiles},
		{"ticket --build ", "", wordsOnly},
		{"ticket --format ", "text md html pdf", wordsOnly},
		{"ticket --format=", "text md html pdf", wordsOnly},
		{"marks job.json --format ", "txt html svg", wordsOnly},
		{"weigh readings.txt --of ", "shafts heads inserts nocks", wordsOnly},
		{"--theme ", "light dark mono", wordsOnly},
		{"--workbook ", "", namesFiles},
		{"erase ", "", wordsOnly},
		{"saved autumn ", "", wordsOnly},
		{"figures job.json --units m", "mm m/s m", moreBehind},
		{"figures job.json --units g,m", "g,mm g,m/s g,m", moreBehind},
		{"completion ", "bash zsh fish powershell", wordsOnly},
	} {
		words, then := completed(t, strings.Split(c.line, " ")...)
		if got := strings.Join(words, " "); got != c.words || then != c.then {
			t.Errorf("%q: offers %q and %q, want %q and %q", c.line, got, then, c.words, c.then)
		}
	}
}

// What a command says of its arguments in its usage is what it completes.
func TestFilesAreOfferedWhereTheyAreTaken(t *testing.T) {
	t.Parallel()
	fileFlags := []string{"workbook", "job", "authorized-keys", "host-key"}
	for _, c := range everyCommand() {
		path := strings.Split(c.CommandPath(), " ")[1:]
		arguments, _, _ := strings.Cut(c.Use, " --")
		takesFile := strings.Contains(arguments, "FILE") || strings.Contains(arguments, "BACKUP")
		if _, then := completed(t, append(slices.Clone(path), "")...); (then == namesFiles) != takesFile {
			t.Errorf("%s: %q for its usage %s", c.CommandPath(), then, c.Use)
		}
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if f.Value.Type() == "bool" {
				return
			}
			takesFile := slices.Contains(fileFlags, f.Name)
			words, then := completed(t, append(slices.Clone(path), "--"+f.Name, "")...)
			if (then == namesFiles) != takesFile {
				t.Errorf("%s --%s: %q for %q", c.CommandPath(), f.Name, then, f.Usage)
			}
			for _, w := range words {
				if f.Name != "units" && !strings.Contains(f.Usage, w) {
					t.Errorf("%s --%s offers %q, its usage is %q", c.CommandPath(), f.Name, w, f.Usage)
				}
			}
		})
	}
	lists, _ := completed(t, "figures", "--units", "")
	for _, list := range lists {
		if _, err := unit.ParseSystem(list); err != nil || len(lists) < 11 {
			t.Errorf("of %d units %q is offered: %v", len(lists), list, err)
		}
	}
}

// Each shell that is here reads its script without running it.
func TestScriptsOfCompletionAreRead(t *testing.T) {
	t.Parallel()
	check := map[string][]string{"bash": {"-n"}, "zsh": {"-n"}, "fish": {"--no-execute"}}
	for _, shell := range shells {
		r := runPlain(t, "", nil, "completion", shell)
		if r.code != done || r.stderr != "" || !strings.Contains(r.stdout, "__complete") || strings.ContainsRune(r.stdout, '\x1b') {
			t.Errorf("%s: ended with %d, %d bytes, %q", shell, r.code, len(r.stdout), r.stderr)
		}
		path, err := exec.LookPath(shell)
		if err != nil || check[shell] == nil {
			continue
		}
		cmd := exec.Command(path, check[shell]...)
		cmd.Stdin = strings.NewReader(r.stdout)
		if out, err := cmd.CombinedOutput(); err != nil || len(out) > 0 {
			t.Errorf("%s: %v\n%s", shell, err, out)
		}
	}
	for _, args := range [][]string{{}, {"bsah"}, {"bash", "zsh"}} {
		runPlain(t, "", nil, append([]string{"completion"}, args...)...).refused(t, wrongFile, "bash", "powershell")
	}
	runPlain(t, "", nil, "man", "page").refused(t, wrongFile, "standard output")
}
