package store

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Two people who change different values of one part lose neither; who changes the same
// value last has it.
func TestChangesOfOnePartAreMerged(t *testing.T) {
	w := openNew(t)
	was := aHead("head-1", 100)
	was.Head.Value.Price = unit.Some(10.0)
	was.Head.Value.Note = "as it came"
	if err := w.PutParts(was); err != nil {
		t.Fatal(err)
	}
	change := func(do func(p *part.Part)) PartChange {
		now := was
		do(&now)
		return PartChange{was, now}
	}
	kept := func(c PartChange) part.Part {
		t.Helper()
		got, _, err := w.ChangeParts([]PartChange{c})
		if err != nil || len(got) != 1 {
			t.Fatalf("%v, %v", got, err)
		}
		parts, err := w.Parts()
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range parts {
			if p.ID == was.ID {
				if p != got[0] {
					t.Errorf("it says that it keeps %+v, and keeps %+v", got[0], p)
				}
				return p
			}
		}
		t.Fatal("it is gone")
		return part.Part{}
	}
	kept(change(func(p *part.Part) { p.Head.Value.Price = unit.Some(12.0) }))
	kept(change(func(p *part.Part) { p.Head.Value.Weight = 101 * unit.Grain }))
	got := kept(change(func(p *part.Part) { p.Head.Value.Note = "" }))
	if got.Head.Value.Price.Value != 12 || got.Head.Value.Weight != 101*unit.Grain || got.Head.Value.Note != "" || got.Name() != was.Name() {
		t.Errorf("three changes give %s", record.Encode(got))
	}
	got = kept(change(func(p *part.Part) { p.Head.Value.Price = unit.Optional[float64]{} }))
	if got.Head.Value.Price.Given || got.Head.Value.Weight != 101*unit.Grain {
		t.Errorf("a price taken away gives %s", record.Encode(got))
	}
	got = kept(change(func(p *part.Part) { p.Head.Value.Weight = 99 * unit.Grain }))
	if got.Head.Value.Weight != 99*unit.Grain {
		t.Errorf("the last one has not the last word: %s", record.Encode(got))
	}
	if _, meanwhile, err := w.ChangeParts([]PartChange{change(func(p *part.Part) { p.Head.Value.Weight = 98 * unit.Grain })}); err != nil || !slices.Equal(meanwhile, []string{was.Name()}) {
		t.Errorf("what somebody else changed is not told: %v, %v", meanwhile, err)
	}
	// A new part, and one that is not there any more, are put there as they are.
	for _, c := range []PartChange{{part.Part{}, aHead("head-2", 90)}, {aHead("head-3", 80), aHead("head-3", 81)}} {
		if got, _, err := w.ChangeParts([]PartChange{c}); err != nil || got[0] != c.Now {
			t.Errorf("%v, %v", got, err)
		}
	}
	if _, _, err := w.ChangeParts([]PartChange{change(func(p *part.Part) { p.Head.Value.Weight = -1 })}); err == nil {
		t.Error("a weight below nothing is kept")
	}
}

func TestNoChangeOfAPartIsLostBetweenTerminals(t *testing.T) {
	w := openNew(t)
	parts, err := w.Parts()
	if err != nil {
		t.Fatal(err)
	}
	first := slices.IndexFunc(parts, func(p part.Part) bool { return p.Kind == part.KindHead })
	was := parts[first]
	var all sync.WaitGroup
	fields := []func(p *part.Part, n int){
		func(p *part.Part, n int) { p.Head.Value.Price = unit.Some(float64(n)) },
		func(p *part.Part, n int) { p.Head.Value.Stock = unit.Some(float64(n)) },
		func(p *part.Part, n int) { p.Retired = n%2 == 0 },
	}
	const last = 21
	for i, set := range fields {
		all.Go(func() {
			base := was
			for n := range last + 1 {
				now := base
				set(&now, n)
				kept, _, err := w.ChangeParts([]PartChange{{base, now}})
				if err != nil {
					t.Error(i, err)
				}
				base = kept[0]
			}
		})
	}
	all.Wait()
	parts, err = w.Parts()
	if got := parts[first]; err != nil || got.Head.Value.Price.Value != last || got.Head.Value.Stock.Value != last || got.Retired {
		t.Errorf("price %v, stock %v, retired %v, want %d, %d, false; %v", got.Head.Value.Price, got.Head.Value.Stock, got.Retired, last, last, err)
	}
}

// What nobody else changed is kept as it is typed, and what was not changed as others have it.
func TestMergeIsWhatBothChanged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(what string) part.Part {
			p := aHead("head-1", float64(rapid.IntRange(1, 3).Draw(t, what+" weight")))
			if rapid.Bool().Draw(t, what+" has a price") {
				p.Head.Value.Price = unit.Some(float64(rapid.IntRange(1, 3).Draw(t, what+" price")))
			}
			p.Head.Value.Note = rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, what+" note")
			return p
		}
		was, now, here := draw("was"), draw("now"), draw("here")
		got, ok := merge(was, now, here)
		if !ok {
			t.Fatal("no part")
		}
		want := here
		if was.Head.Value.Weight != now.Head.Value.Weight {
			want.Head.Value.Weight = now.Head.Value.Weight
		}
		if was.Head.Value.Price != now.Head.Value.Price {
			want.Head.Value.Price = now.Head.Value.Price
		}
		if was.Head.Value.Note != now.Head.Value.Note {
			want.Head.Value.Note = now.Head.Value.Note
		}
		if got != want {
			t.Fatalf("%s\nwant %s", record.Encode(got), record.Encode(want))
		}
	})
	for _, bad := range []string{"", "{", `{"a":`, `{"a" 1}`} {
		if got, err := mergeJSON([]byte(`{"a":1}`), []byte(`{"a":2}`), []byte(bad)); err == nil && fmt.Sprint(string(got)) != "2" && string(got) != `{"a":2}` {
			t.Errorf("%q gives %s", bad, got)
		}
	}
}

// The words by which something is found, and a customer, are changed value by value too.
func TestWordsAndCustomersAreMerged(t *testing.T) {
	w := openNew(t)
	e := save(t, w, KindBuild, "for the woods", oneBuild(30))
	was := Words{Name: "for the woods"}
	if _, err := w.ChangeWords(e.ID, was, Words{"for the woods", "Orla Fenn (invented)", ""}); err != nil {
		t.Fatal(err)
	}
	kept, err := w.ChangeWords(e.ID, was, Words{"for the woods", "", "longbow"})
	if want := (Words{"for the woods", "Orla Fenn (invented)", "longbow"}); err != nil || kept != want {
		t.Errorf("%+v, %v, want %+v", kept, err, want)
	}
	list, err := w.List()
	if err != nil || list[0].Customer != kept.Customer || list[0].Tags != kept.Tags {
		t.Errorf("%+v, %v", list, err)
	}
	if kept, err = w.ChangeWords(e.ID, kept, Words{kept.Name, "", kept.Tags}); err != nil || kept.Customer != "" {
		t.Errorf("a customer taken away: %+v, %v", kept, err)
	}
	there := Customer{Name: "Orla Fenn (invented)"}
	if _, err := w.ChangeCustomer(there, Customer{there.Name, "left hand"}); err != nil {
		t.Fatal(err)
	}
	c, err := w.ChangeCustomer(there, Customer{"Orla Fennick (invented)", ""})
	if want := (Customer{"Orla Fennick (invented)", "left hand"}); err != nil || c != want {
		t.Errorf("%+v, %v, want %+v", c, err, want)
	}
	var missing *MissingCustomerError
	if _, err := w.ChangeCustomer(there, Customer{there.Name, "right hand"}); !errors.As(err, &missing) {
		t.Errorf("one that was renamed meanwhile: %v", err)
	}
}
