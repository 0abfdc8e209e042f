package session

import (
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// marked returns the names of the builds that bear the mark.
func marked(j *job.Job) []string {
	var out []string
	for i := range j.Builds {
		if j.Marked(&j.Builds[i]) {
			out = append(out, j.Builds[i].Name)
		}
	}
	return out
}

func wantMarked(t *testing.T, s *Session, want ...string) {
	t.Helper()
	got := marked(s.Job())
	if len(got) != len(want) {
		t.Errorf("marked are %v, want %v", got, want)
		return
	}
	for i := range got {
		if got[i] != want[i] {
			t.Errorf("marked are %v, want %v", got, want)
		}
	}
}

func do(t *testing.T, s *Session, change func(j *job.Job)) {
	t.Helper()
	if changed, err := s.Do("change", change); err != nil || !changed {
		t.Fatalf("changed %v, %v", changed, err)
	}
}

// A mark writes down how the bow is set; taking it off keeps the record.
func TestProveWritesDownTheBow(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	do(t, s, func(j *job.Job) { Prove(j, 1, true) })
	b, bow := &s.Job().Builds[1], &s.Job().Bow.Value
	if p := b.Proof.Value; !b.Proven || bow.Proven != b.Name || p.Bow != bow.Name || p.Peak != bow.Peak || p.Draw != bow.Draw || p.Brace != bow.Brace {
		t.Errorf("%+v on a bow that names %q", b.Proof, bow.Proven)
	}
	do(t, s, func(j *job.Job) { j.Builds[1].Proof.Value.Note = "flew well" })
	wantMarked(t, s, "Even keel")
	do(t, s, func(j *job.Job) { Prove(j, 1, false) })
	wantMarked(t, s)
	if b := s.Job().Builds[1]; b.Proof.Value.Note != "flew well" || s.Job().Bow.Value.Proven != "" {
		t.Errorf("%+v on a bow that names %q", b.Proof, s.Job().Bow.Value.Proven)
	}
	// Marked again on the bow as it was, the record holds; on a bow that is set
	// differently what the arrow weighs and where it balances does.
	do(t, s, func(j *job.Job) {
		j.Builds[1].Proof.Value.Weight, j.Builds[1].Proof.Value.Speed = unit.Some(449*unit.Grain), unit.Some(280*unit.FootPerSecond)
		Prove(j, 1, true)
	})
	if p := s.Job().Builds[1].Proof.Value; p.Note != "flew well" || !p.Speed.Given {
		t.Errorf("on the same bow: %+v", p)
	}
	do(t, s, func(j *job.Job) { j.Bow.Value.Peak.Value -= unit.PoundForce })
	do(t, s, func(j *job.Job) { Prove(j, 1, true) })
	if p := s.Job().Builds[1].Proof.Value; p.Note != "" || p.Speed.Given || p.Weight != unit.Some(449*unit.Grain) || p.Peak != s.Job().Bow.Value.Peak {
		t.Errorf("on the bow set differently: %+v", p)
	}
	do(t, s, func(j *job.Job) { Prove(j, 1, false) })
	// The build marked last is the one that others are compared with.
	do(t, s, func(j *job.Job) { Prove(j, 2, true) })
	do(t, s, func(j *job.Job) { Prove(j, 0, true) })
	if wantMarked(t, s, "Open ground", "Close cover"); s.Sheet().Proven != 0 {
		t.Errorf("build %d is compared with", s.Sheet().Proven)
	}
	do(t, s, func(j *job.Job) { Prove(j, 2, false) })
	if wantMarked(t, s, "Open ground"); s.Job().Bow.Value.Proven != "Open ground" {
		t.Errorf("the bow names %q", s.Job().Bow.Value.Proven)
	}
}

// A build whose pieces change is another arrow: mark and record go, and undo brings
// both back. What it is called, what it costs and how the bow
// is set are no pieces.
func TestAMarkGoesWithItsPieces(t *testing.T) {
	proven := func() *Session {
		j := store.SampleBench()
		j.Builds[1].Extras = []part.Extra{{Weight: unit.Grain, Balance: 29 * unit.Inch}}
		Prove(j, 1, true)
		return New(j, unit.System{})
	}
	for name, change := range map[string]func(b *arrow.Build){
		"insert": func(b *arrow.Build) { b.Insert.Value.Weight += unit.Grain },
		"length": func(b *arrow.Build) { b.Recut(b.Length + unit.Inch/8) },
		"shaft":  func(b *arrow.Build) { b.Shaft.Spine.Value += 0.01 * unit.Inch },
		"nock":   func(b *arrow.Build) { b.Nock.Lighted = !b.Nock.Lighted },
		"vanes":  func(b *arrow.Build) { b.Vanes.Value.Count++ },
		"wrap":   func(b *arrow.Build) { b.Wrap.Given = !b.Wrap.Given },
		"collar": func(b *arrow.Build) { b.Collar.Value.Length += unit.Inch / 8 },
		"head":   func(b *arrow.Build) { b.Head.Weight += unit.Grain },
		"extra": func(b *arrow.Build) {
			b.Extras = append(b.Extras, part.Extra{Weight: unit.Grain, Balance: 20 * unit.Inch})
		},
	} {
		s := proven()
		do(t, s, func(j *job.Job) { change(&j.Builds[1]) })
		if got := marked(s.Job()); len(got) != 0 || s.Job().Builds[1].Proof.Given || s.Job().Bow.Value.Proven != "" {
			t.Errorf("another %s: marked are %v, record %v", name, got, s.Job().Builds[1].Proof.Given)
		}
		s.Undo()
		wantMarked(t, s, "Even keel")
	}
	for name, change := range map[string]func(j *job.Job){
		"name":          func(j *job.Job) { j.Bow.Value.Proven, j.Builds[1].Name = "Renamed", "Renamed" },
		"price":         func(j *job.Job) { j.Builds[1].Shaft.Price = unit.Some(99.0) },
		"note":          func(j *job.Job) { j.Builds[1].Head.Note = "sharp" },
		"drag":          func(j *job.Job) { j.Builds[1].DragCoefficient = unit.Some(2.2) },
		"peak":          func(j *job.Job) { j.Bow.Value.Peak.Value -= unit.PoundForce },
		"other":         func(j *job.Job) { j.Builds[0].Head.Weight += unit.Grain },
		"extra's price": func(j *job.Job) { j.Builds[1].Extras[0].Price = unit.Some(1.0) },
		"its place":     func(j *job.Job) { Swap(j, 0, 1) },
		"a neighbour":   func(j *job.Job) { Remove(j, 0) },
	} {
		s := proven()
		do(t, s, change)
		if got := marked(s.Job()); len(got) != 1 {
			t.Errorf("another %s: marked are %v", name, got)
		}
	}
}

// Who changes an arrow and marks it at once marks it as it is then; a bow that nobody
// described is one once something is proven on it.
func TestAMarkIsForTheArrowAsItIs(t *testing.T) {
	j := store.SampleBench()
	j.Bow = job.New().Bow
	s := New(j, unit.System{})
	do(t, s, func(j *job.Job) {
		j.Builds[0].Head.Weight += unit.Grain
		Prove(j, 0, true)
	})
	if wantMarked(t, s, "Open ground"); !s.Job().Bow.Given {
		t.Error("the bow that names it is not there")
	}
}

// A bow that comes with the name of another arrow does not prove the one here, nor
// does a build that is given that name later.
func TestABowsNameIsNoProof(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	if changed, err := s.Do("bow", func(j *job.Job) { j.Bow.Value.Proven = "Even keel" }); changed || err != nil {
		t.Errorf("changed %v, %v", changed, err)
	}
	wantMarked(t, s)
	j := store.SampleBench()
	j.Bow.Value.Proven = "New build"
	s = New(j, unit.System{})
	do(t, s, func(j *job.Job) { j.Builds[0].Name = "New build" })
	wantMarked(t, s)
	// A file that names one of its own builds means it.
	j = store.SampleBench()
	j.Bow.Value.Proven = "Even keel"
	s = New(j, unit.System{})
	do(t, s, func(j *job.Job) { j.Builds[0].Head.Weight += unit.Grain })
	wantMarked(t, s, "Even keel")
}

// A build that gets the name of a proven one that was removed is not proven.
func TestANameIsNoProof(t *testing.T) {
	j := store.SampleBench()
	Prove(j, 1, true)
	s := New(j, unit.System{})
	do(t, s, func(j *job.Job) { Remove(j, 1) })
	do(t, s, func(j *job.Job) { j.Builds[0].Name = "Even keel" })
	wantMarked(t, s)
}
