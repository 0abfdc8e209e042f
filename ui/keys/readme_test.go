package keys

import (
	"flag"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the key table in README.md")

const (
	readme = "../../README.md"
	opened = "<!-- keys -->\n"
	closed = "<!-- /keys -->"
	again  = "write it with: go test ./ui/keys -run TestReadme -update"
)

func TestReadmeHasTheKeysThatAreBound(t *testing.T) {
	data, err := os.ReadFile(readme)
	if err != nil {
		t.Fatalf("%v\nREADME.md at the root of the module holds the table of keys between the lines %q and %q; %s", err, strings.TrimSpace(opened), closed, again)
	}
	before, rest, found := strings.Cut(string(data), opened)
	table, after, ended := strings.Cut(rest, closed)
	if !found || !ended {
		t.Fatalf("README.md lacks the lines %q and %q, between which the table of keys stands", strings.TrimSpace(opened), closed)
	}
	want := strings.TrimSpace(Default().Table())
	if strings.TrimSpace(table) == want {
		return
	}
	if *update {
		if err := os.WriteFile(readme, []byte(before+opened+"\n"+want+"\n\n"+closed+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	t.Errorf("the table of keys in README.md is out of date; %s", again)
}

func TestTableHasARowForEachBinding(t *testing.T) {
	m := Default()
	rows := map[string]bool{}
	for line := range strings.SplitSeq(m.Table(), "\n") {
		rows[line] = true
	}
	for _, s := range m.Scopes() {
		for _, b := range s.Bindings {
			if row := "| `" + b.Help().Key + "` | " + b.Help().Desc + " | `" + s.name(b.Action) + "` |"; !rows[row] {
				t.Errorf("no row %s", row)
			}
		}
	}
}
