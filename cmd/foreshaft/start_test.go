package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/uitest"
)

// The budgets of the program as it is shipped.
const (
	mostBinary  = 20 << 20 // bytes, stripped
	savedBuilds = 10_000
	revisions   = 3
)

func TestTheBinaryIsSmallEnough(t *testing.T) {
	if testing.Short() {
		t.Skip("links the program once more")
	}
	t.Parallel()
	path := filepath.Join(t.TempDir(), "foreshaft")
	if out, err := exec.Command("go", "build", "-ldflags", "-s -w", "-o", path, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("stripped: %.1f MB", float64(info.Size())/(1<<20))
	if info.Size() > mostBinary {
		t.Errorf("the stripped binary has %d bytes, want at most %d", info.Size(), mostBinary)
	}
}

// fullWorkbook makes a workbook with ten thousand saved builds of three
// revisions each. Thirty thousand saves that wait for a disk take minutes, so
// they are made in memory where the system has such a place.
func fullWorkbook(b *testing.B) string {
	b.Helper()
	dir := b.TempDir()
	if memory, err := os.MkdirTemp("/dev/shm", "foreshaft"); err == nil {
		b.Cleanup(func() { _ = os.RemoveAll(memory) })
		dir = memory
	}
	path := filepath.Join(dir, "workbook.db")
	book, err := store.Open(path, store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	j := store.BuildOf(store.SampleBench(), 1)
	for i := range savedBuilds {
		j.Builds[0].Name = fmt.Sprintf("Build of customer %d", i)
		for r := range revisions {
			j.Builds[0].Length = 29*unit.Inch + unit.Length(i*revisions+r)*1e-6*unit.Metre
			if _, added, err := book.Save(store.KindBuild, j.Builds[0].Name, j); err != nil || !added {
				b.Fatalf("save %d of build %d: added %v, %v", r, i, added, err)
			}
		}
	}
	if err := book.Close(); err != nil {
		b.Fatal(err)
	}
	// What is measured is a workbook on the disk.
	data, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	path = filepath.Join(b.TempDir(), "workbook.db")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		b.Fatal(err)
	}
	b.Logf("the workbook has %.1f MB", float64(len(data))/(1<<20))
	return path
}

// BenchmarkStart measures from the start of the process to the first frame on
// the screen of a terminal. Budget: 100 ms. It reports as well what memory the
// program holds besides mapped files after 200 more keys that change every
// figure. Budget: 60 MB.
func BenchmarkStart(b *testing.B) {
	path := fullWorkbook(b)
	var times []time.Duration
	memory := 0.0
	for b.Loop() {
		start := time.Now()
		x := uitest.Start(b, uitest.Options{Path: program, Args: []string{"--workbook", path}, Cols: 200, Rows: 60})
		x.WaitFor("total weight")
		times = append(times, time.Since(start))
		x.Send(strings.Repeat("n", 200) + "?")
		x.WaitFor("Help")
		memory = max(memory, anonymousMemory(b, path))
		x.Send("\x1b")
		x.WaitGone("Help")
		x.Send("q")
		if code := x.Wait(); code != done {
			b.Fatalf("ended with %d\n%s", code, x.Screen())
		}
		x.Close()
	}
	slices.Sort(times)
	at := func(share float64) float64 {
		return float64(times[min(int(share*float64(len(times))), len(times)-1)].Microseconds()) / 1000
	}
	b.ReportMetric(0, "ns/op") // the loop holds more than is measured
	b.ReportMetric(at(0.5), "p50-ms")
	b.ReportMetric(at(0.99), "p99-ms")
	b.ReportMetric(memory, "MB")
}

var (
	ownPID   = regexp.MustCompile(`"pid":(\d+)`)
	residual = regexp.MustCompile(`(?m)^Rss(?:Anon|Shmem):\s+(\d+) kB`)
)

// anonymousMemory returns how many MB the process that has the workbook open
// holds without the pages of mapped files; 0 where the system does not say.
func anonymousMemory(b *testing.B, workbook string) float64 {
	owner, err := os.ReadFile(workbook + ".owner")
	if err != nil {
		b.Fatal(err)
	}
	pid := ownPID.FindSubmatch([]byte(strings.ReplaceAll(string(owner), " ", "")))
	if pid == nil {
		b.Fatalf("no process in %s", owner)
	}
	status, err := os.ReadFile(filepath.Join("/proc", string(pid[1]), "status"))
	if err != nil {
		return 0
	}
	sum := 0.0
	for _, m := range residual.FindAllSubmatch(status, -1) {
		kB, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			b.Fatal(err)
		}
		sum += kB / 1024
	}
	return sum
}
