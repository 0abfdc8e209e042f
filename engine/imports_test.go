package engine_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "foreshaft"

// folders lists, for each folder at the top, the folders that its packages may
// import from.
var folders = map[string][]string{
	"cmd":    {"cmd", "ui", "engine", "store"},
	"ui":     {"ui", "engine", "store"},
	"store":  {"store", "engine"},
	"engine": {"engine"},
}

// Groups of packages inside the engine, from the ground up.
var (
	ground = []string{"unit", "label"}
	values = list(ground, "record", "figure")
	pieces = list(values, "part")
	models = list(pieces, "dozen", "arrow", "air", "bow")
	second = list(models, "flight", "stiffness", "steering")
)

// arrows lists, for each package of the engine, those it may import. A package
// that is not listed fails the test: add it here with what it stands on.
var arrows = map[string][]string{
	"unit":   {},
	"label":  {},
	"record": ground,
	"figure": {"unit"},
	"part":   values,
	"arrow":  list(pieces, "dozen"),
	"air":    values,
	"bow":    values,

	"flight":    models,
	"stiffness": models,
	"steering":  models,

	"job":     models,
	"caution": list(second, "job"),
	"sheet":   list(second, "job", "caution"),
	"search":  list(second, "job", "caution", "sheet"),
	"fitting": list(second, "job", "caution", "sheet", "search"),
	"dozen":   {"unit", "record"},
	// For tests only, see testsOnly.
	"enginetest": list(second, "job"),
}

// testsOnly lists packages that nothing but a test may import.
var testsOnly = []string{"ui/uitest", "engine/enginetest"}

// impure lists what the engine must not import: it is the same everywhere and
// at all times. A path stands for what lies below it too.
var impure = []string{"os", "time", "math/rand", "net", "syscall", "io/ioutil", "log"}

// plain lists packages that must not know a terminal, with what that means.
var (
	plain     = []string{"ui/present", "ui/ticket", "ui/text"}
	terminals = []string{"github.com/charmbracelet/bubbletea", "github.com/charmbracelet/lipgloss", "github.com/charmbracelet/bubbles", "github.com/muesli/termenv"}
)

func list(more []string, names ...string) []string { return append(slices.Clone(more), names...) }

// source is one file of the module with what it imports.
type source struct {
	file    string // from the module root
	folder  string // its package, from the module root
	test    bool
	imports []string
}

// sources parses the imports of every Go file of the module.
func sources(t *testing.T) []source {
	t.Helper()
	const root = ".."
	if _, err := os.Stat(filepath.Join(root, "go.mod")); err != nil {
		t.Fatalf("the folder above is not the module root: %v", err)
	}
	var out []source
	err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if file != root && (name == "testdata" || name == "vendor" || name[0] == '.' || name[0] == '_') {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		from, err := filepath.Rel(root, file)
		if err != nil {
			return err
		}
		s := source{file: filepath.ToSlash(from), test: strings.HasSuffix(name, "_test.go")}
		s.folder = path.Dir(s.file)
		for _, spec := range parsed.Imports {
			to, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, to)
		}
		out = append(out, s)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// below reports whether an import path is one of those listed or lies below one.
func below(to string, those []string) bool {
	return slices.ContainsFunc(those, func(one string) bool { return to == one || strings.HasPrefix(to, one+"/") })
}

// faults returns what a file imports against the rules, a sentence each.
func faults(s source) []string {
	var out []string
	say := func(words ...string) { out = append(out, s.file+" "+strings.Join(words, " ")) }
	top, _, _ := strings.Cut(s.folder, "/")
	allowed, known := folders[top]
	if !known {
		say("lies in a folder that the table of folders does not have: add it there with what it may import")
		return out
	}
	name, inEngine := strings.CutPrefix(s.folder, "engine/")
	stands, listed := arrows[name]
	if inEngine && !listed {
		say("belongs to a package that the table of arrows does not have: add it there with what it stands on")
	}
	for _, to := range s.imports {
		inside, ours := strings.CutPrefix(to, module+"/")
		target, _, _ := strings.Cut(inside, "/")
		switch {
		case ours && !slices.Contains(allowed, target):
			say("imports", to, "and", top, "may import from", strings.Join(allowed, ", "), "only")
		case ours && !s.test && slices.Contains(testsOnly, inside) && s.folder != inside:
			say("imports", to, "which is for tests only")
		case ours && !s.test && inEngine && listed && !slices.Contains(stands, strings.TrimPrefix(inside, "engine/")):
			say("imports", to, "and may import", strings.Join(stands, ", "), "only")
		case !ours && !s.test && top == "engine" && below(to, impure):
			say("imports", to, "and the engine must not depend on where or when it runs")
		case !ours && slices.Contains(plain, s.folder) && !s.test && below(to, terminals):
			say("imports", to, "and must not know a terminal")
		}
	}
	return out
}

func TestImportArrows(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range sources(t) {
		seen[s.folder] = true
		for _, fault := range faults(s) {
			t.Error(fault)
		}
	}
	for _, folder := range []string{"engine/unit", "engine/sheet", "ui/text"} {
		if !seen[folder] {
			t.Errorf("no file of %s was looked at", folder)
		}
	}
}

// The check itself must find what is wrong.
func TestImportArrowsFindFaults(t *testing.T) {
	cases := []struct {
		name, file string
		to         string
		wrong      bool
	}{
		{"engine on the store", "engine/sheet/a.go", "foreshaft/store", true},
		{"engine on the screen, in a test", "engine/sheet/a_test.go", "foreshaft/ui/text", true},
		{"store on the screen", "store/a.go", "foreshaft/ui/text", true},
		{"store on the engine", "store/a.go", "foreshaft/engine/job", false},
		{"command on everything", "cmd/foreshaft/a.go", "foreshaft/ui/bench", false},
		{"screen on the command", "ui/bench/a.go", "foreshaft/cmd/foreshaft", true},
		{"unit on label", "engine/unit/a.go", "foreshaft/engine/label", true},
		{"bow on part", "engine/bow/a.go", "foreshaft/engine/part", true},
		{"arrow on part", "engine/arrow/a.go", "foreshaft/engine/part", false},
		{"job on caution", "engine/job/a.go", "foreshaft/engine/caution", true},
		{"job on caution, in a test", "engine/job/a_test.go", "foreshaft/engine/caution", false},
		{"caution on sheet", "engine/caution/a.go", "foreshaft/engine/sheet", true},
		{"sheet on caution", "engine/sheet/a.go", "foreshaft/engine/caution", false},
		{"dozen on part", "engine/dozen/a.go", "foreshaft/engine/part", true},
		{"a package nobody listed", "engine/extra/a.go", "fmt", true},
		{"a folder nobody listed", "tools/a.go", "fmt", true},
		{"engine with a clock", "engine/sheet/a.go", "time", true},
		{"engine with files", "engine/job/a.go", "os", true},
		{"engine with files, in a test", "engine/job/a_test.go", "os", false},
		{"engine with chance", "engine/sheet/a.go", "math/rand/v2", true},
		{"engine on the network", "engine/sheet/a.go", "net/http", true},
		{"plain rows with a terminal", "ui/present/a.go", "github.com/charmbracelet/lipgloss", true},
		{"plain text with a table of a terminal", "ui/text/a.go", "github.com/charmbracelet/bubbles/table", true},
		{"a screen with a terminal", "ui/bench/a.go", "github.com/charmbracelet/lipgloss", false},
		{"test helper in the program", "ui/bench/a.go", "foreshaft/ui/uitest", true},
		{"test helper in a test", "ui/bench/a_test.go", "foreshaft/ui/uitest", false},
		{"random jobs in the engine", "engine/search/a.go", "foreshaft/engine/enginetest", true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			found := faults(source{file: c.file, folder: path.Dir(c.file), test: strings.HasSuffix(c.file, "_test.go"), imports: []string{c.to}})
			if (len(found) > 0) != c.wrong {
				t.Errorf("%s importing %s: found %q", c.file, c.to, found)
			}
		})
	}
}
