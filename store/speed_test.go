package store

import (
	"fmt"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/unit"
)

const (
	manyBuilds    = 10_000
	manyRevisions = 3
)

var manyOnce struct {
	sync.Once
	data []byte
	err  error
}

// manyPath returns a workbook of 10,000 saved builds with 3 revisions each. It is
// made once for all benchmarks, in few transactions.
func manyPath(b *testing.B) string {
	b.Helper()
	manyOnce.Do(func() {
		w := openNew(b)
		j := BuildOf(SampleBench(), 2)
		for from := 0; from < manyBuilds; from += 1000 {
			err := w.update(func(tx *bolt.Tx) error {
				for i := from; i < from+1000; i++ {
					for r := range manyRevisions {
						j.Builds[0].Length = unit.Length(29+float64(i)/manyBuilds+float64(r)) * unit.Inch
						s := saving{kind: KindBuild, name: fmt.Sprintf("build %d", i), body: j.Encode(), now: w.clock()}
						if _, added, err := s.put(tx); err != nil || !added {
							return fmt.Errorf("%d: added %v, %w", i, added, err)
						}
					}
				}
				return nil
			})
			if err != nil {
				manyOnce.err = err
				return
			}
		}
		if manyOnce.err = w.Close(); manyOnce.err == nil {
			manyOnce.data, manyOnce.err = os.ReadFile(w.path)
		}
	})
	if manyOnce.err != nil {
		b.Fatal(manyOnce.err)
	}
	path := writeFile(b, newPath(b), manyOnce.data)
	return path
}

// BenchmarkOpen is what a start needs before its first frame: the workbook and
// the bench. It must not depend on how much is saved; the whole start has 100 ms.
func BenchmarkOpen(b *testing.B) {
	path, c := manyPath(b), newClock()
	// One round is a start and an end; the time to the bench is taken apart,
	// because the end waits for the day's backup.
	run := func(name string, step time.Duration) {
		b.Run(name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				c.step(step)
				begin := time.Now()
				w, err := Open(path, c.options())
				if err != nil {
					b.Fatal(err)
				}
				if _, err := w.LoadBench(); err != nil {
					b.Fatal(err)
				}
				took = append(took, time.Since(begin))
				if err := w.Close(); err != nil {
					b.Fatal(err)
				}
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-to-bench")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms-to-bench")
		})
	}
	run("saved=30000", 0)
	run("saved=30000,backup", 25*time.Hour)
	path = newPath(b)
	run("saved=0", 0)
}

func openMany(b *testing.B) *Workbook {
	b.Helper()
	w, err := Open(manyPath(b), newClock().options())
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { w.Close() })
	w.upkeep.Wait()
	return w
}

func BenchmarkList(b *testing.B) {
	w := openMany(b)
	for b.Loop() {
		list, err := w.List()
		if err != nil || len(list) != manyBuilds {
			b.Fatalf("%d entries, %v", len(list), err)
		}
	}
}

func BenchmarkLoad(b *testing.B) {
	w := openMany(b)
	for i := uint64(0); b.Loop(); i++ {
		if _, err := w.Load(1+i*7919%manyBuilds, 2); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSaveBench(b *testing.B) {
	w := openMany(b)
	j := SampleBench()
	for i := 0; b.Loop(); i++ {
		j.Builds[0].Length = unit.Length(29+float64(i%100)/100) * unit.Inch
		if err := w.SaveBench(Bench{Job: j, View: []byte(`{"focus":1}`)}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSave(b *testing.B) {
	w := openMany(b)
	for i := 0; b.Loop(); i++ {
		if _, added, err := w.Save(KindBuild, "build 77", counted(29000+i%1000)); err != nil || !added {
			b.Fatal(added, err)
		}
	}
}

func BenchmarkBackup(b *testing.B) {
	w := openMany(b)
	for b.Loop() {
		path, err := w.Backup()
		if err != nil {
			b.Fatal(err)
		}
		if err := os.Remove(path); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParts(b *testing.B) {
	w := openNew(b)
	for b.Loop() {
		if _, err := w.Parts(); err != nil {
			b.Fatal(err)
		}
	}
}
