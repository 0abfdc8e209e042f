package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/ui/present"
)

func exampleJob(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "jobs", "example.json"))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// The same figures come out of a pipe and are on the screen: both are the
// sheet, written by present.
func TestFiguresAreThoseOfTheSheet(t *testing.T) {
	t.Parallel()
	example := exampleJob(t)
	j, err := job.Decode([]byte(example))
	if err != nil {
		t.Fatal(err)
	}
	s := sheet.Evaluate(j)
	if got := runPlain(t, example, nil, "figures", "-"); got.stdout != present.Plain(s) || got.code != 0 || got.stderr != "" {
		t.Errorf("ended with %d:\n%s%s", got.code, got.stdout, got.stderr)
	}
	got := runPlain(t, example, nil, "figures", "-", "--json")
	if got.stdout != string(s.Answer()) || !json.Valid([]byte(got.stdout)) {
		t.Errorf("the answer is\n%s", got.stdout)
	}
}

// broken are changes of the example job that each break one rule, with the
// place that the refusal must name.
var broken = []struct{ old, new, says string }{
	{`"foreshaft-job/1"`, `"foreshaft-job/2"`, "format"},
	{`"foreshaft-job/1"`, `null`, "format"},
	{`"format"`, `"Format"`, "Format"},
	{`"baseline": 0`, `"baseline": 1`, "baseline"},
	{`"baseline": 0`, `"baseline": -1`, "baseline"},
	{`"baseline": 0`, `"baseline": 0.5`, "baseline"},
	{`"baseline": 0`, `"baseline": "0"`, "baseline"},
	{`"baseline": 0`, `"baseline": 0, "baseline": 0`, "baseline"},
	{`"peak_weight_lb": 68, "draw`, `"peak_weight_lb": 150, "draw`, "crossbow"},
	{`"length_in": 29.5, "proven"`, `"length_in": 29.5e9, "proven"`, "builds[0].length_in"},
	{`"length_in": 29.5, "proven"`, `"length_mm": 29.5, "proven"`, "builds[0].length_mm"},
	{`"length_in": 29.5, "proven"`, `"proven"`, "builds[0].length_in"},
	{`"length_in": 29.5, "proven"`, `"length_in": null, "proven"`, "builds[0].length_in"},
	{`"proven": false`, `"proven": "no"`, "builds[0].proven"},
	{`"weight_gr_per_in": 8.6, `, ``, "builds[0].shaft"},
	{`"weight_gr": 9,`, `"weight_gr": -9,`, "builds[0].nock.weight_gr"},
	{`"count": 3`, `"count": 3.5`, "builds[0].vanes.count"},
	{`"shape": "ogive"`, `"shape": "spoon"`, "builds[0].head.shape"},
	{`"kind": "compound"`, `"kind": "crossbow"`, "bow.kind"},
	{`[20, 30, 40, 50, 60]`, `[20, 20]`, "distances_yd[1]"},
	{`[20, 30, 40, 50, 60]`, `[0]`, "distances_yd[0]"},
	{`[20, 30, 40, 50, 60]`, `20`, "distances_yd"},
	{`"speed_fps": 291`, `"speed_fps": 2910`, "bow.readings[0].speed_fps"},
	{`"speed_fps": 291`, `"speed_fps": NaN`, "line"},
	{`"builds": [`, `"builds": [], "extra": [`, "extra"},
	{`"air":`, `"weather":`, "weather"},
}

func TestEveryBrokenJobIsRefusedWithItsPlace(t *testing.T) {
	t.Parallel()
	example := exampleJob(t)
	for _, c := range broken {
		if strings.Count(example, c.old) == 0 {
			t.Fatalf("the example job has no %s any more", c.old)
		}
		runPlain(t, strings.Replace(example, c.old, c.new, 1), nil, "figures", "-").refused(t, wrongFile, "standard input", c.says)
	}
	runPlain(t, `{"format": "foreshaft-job/1", "builds": []}`, nil, "figures", "-").refused(t, wrongFile, "builds")
	for _, whole := range []string{"", " ", "{}", "[]", "null", "\x00\x01\x02", example[:len(example)/2], example + example, strings.Repeat("[", 100000), "\xff\xfe{}"} {
		runPlain(t, whole, nil, "figures", "-").refused(t, wrongFile, "standard input")
	}
}

func TestNamesFromAFileDriveNoTerminal(t *testing.T) {
	t.Parallel()
	hostile := strings.Replace(exampleJob(t), "Worked arrow", `\u001b[31m\u001b]0;title\u0007\u202e\u009b2J`, 1)
	got := runPlain(t, hostile, nil, "figures", "-")
	if got.code != done || strings.ContainsAny(got.stdout, "\x1b\a\u202e\u009b") {
		t.Errorf("ended with %d: %q", got.code, got.stdout)
	}
	bad := strings.Replace(hostile, `"length_in": 29.5, "proven"`, `"length_in": 99, "\u001b[31m": 1, "proven"`, 1)
	runPlain(t, bad, nil, "figures", "-").refused(t, wrongFile)
}

func TestFiguresWithoutAPlaceToWriteSaysSo(t *testing.T) {
	t.Parallel()
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no device that is always full: ", err)
	}
	defer full.Close()
	cmd := exec.Command(program, "figures", "-")
	cmd.Stdin, cmd.Stdout = strings.NewReader(exampleJob(t)), full
	var said strings.Builder
	cmd.Stderr = &said
	if err := cmd.Run(); err == nil || cmd.ProcessState.ExitCode() != couldNot || !strings.HasPrefix(said.String(), "foreshaft: ") {
		t.Errorf("a full disk: %v, %q", err, said.String())
	}
}

func TestFiguresNeedsNoWorkbookAndMakesNone(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	if got := runPlain(t, exampleJob(t), []string{"XDG_DATA_HOME=" + data, "FORESHAFT_WORKBOOK=" + filepath.Join(data, "book.db")}, "figures", "-"); got.code != done {
		t.Errorf("ended with %d: %s", got.code, got.stderr)
	}
	if left, err := os.ReadDir(data); err != nil || len(left) > 0 {
		t.Errorf("it left %v, %v", left, err)
	}
}
