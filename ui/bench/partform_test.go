package bench

import (
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
)

// needed is what a new part of each kind must say, by key of its form.
var needed = map[part.Kind][]string{
	part.KindShaft: {"name", "weight_gr_per_in"}, part.KindInsert: {"name", "weight_gr", "depth_in"}, part.KindCollar: {"name", "weight_gr", "length_in"},
	part.KindHead: {"name", "weight_gr"}, part.KindNock: {"name", "weight_gr"}, part.KindVanes: {"name", "count", "weight_gr", "length_in", "rear_in"},
	part.KindWrap: {"name", "weight_gr", "length_in"},
}

// describe opens the form of a new part of a kind.
func describe(t testing.TB, m *Model, k part.Kind) Request {
	t.Helper()
	press(onSlot(m, kindSlot(k)), "enter")
	return press(m, "ctrl+a")
}

// keptPart returns the one part that a request asks to store.
func keptPart(t testing.TB, r Request) part.Part {
	t.Helper()
	k, ok := r.(KeepParts)
	if !ok || len(k.Parts) != 1 {
		t.Fatalf("it asks for %+v, want one part to be kept", r)
	}
	return k.Parts[0]
}

// inDrawer returns the parts of the drawer with that name.
func inDrawer(m *Model, name string) []part.Part {
	var out []part.Part
	for _, p := range m.drawer {
		if p.Name() == name {
			out = append(out, p)
		}
	}
	return out
}

func textFor(key string) string {
	if key == "name" {
		return "Mine"
	}
	return present.Number(numberFor(key))
}

// A new part goes into the drawer with the last value that it needs, whether its
// ID came before or comes afterwards, and holds what was typed.
func TestANewPartIsStoredWhenItIsWholeAndHasAnID(t *testing.T) {
	for _, k := range part.Kinds {
		for _, late := range []bool{false, true} {
			m := benchOf(t, nil)
			if r := describe(t, m, k); r != (NewPart{}) {
				t.Fatalf("a new %s asks for %+v", k, r)
			}
			if !late {
				if r := m.TakeID("part-901"); r != nil {
					t.Errorf("an empty %s is kept: %+v", k, r)
				}
			}
			shows(t, m, "New "+string(k), "Not in the drawer yet. It needs a name")
			var r Request
			for i, key := range needed[k] {
				if r != nil {
					t.Errorf("a %s that lacks %q is kept", k, needed[k][i:])
				}
				r = enter[part.Part](t, m, key, textFor(key))
				if i < len(needed[k])-1 {
					shows(t, m, "Not in the drawer yet.")
				}
			}
			if late {
				if r != nil || len(inDrawer(m, "Mine")) > 0 {
					t.Errorf("a %s without an ID is kept: %+v", k, r)
				}
				r = m.TakeID("part-901")
			}
			p := keptPart(t, r)
			if p.ID != "part-901" || p.Kind != k || p.Name() != "Mine" || !p.Valid() || p.Sample || p.Retired {
				t.Errorf("kept is %+v", p)
			}
			for _, f := range record.Fields(pieceOf(&p)) {
				if slices.Contains(needed[k], f.Key) != (f.Text() != "" && f.Text() != "0" && f.Text() != "no") || slices.Contains(needed[k], f.Key) && f.Text() != textFor(f.Key) {
					t.Errorf("%s of the %s is kept as %q", f.Key, k, f.Text())
				}
			}
			if got := inDrawer(m, "Mine"); len(got) != 1 || got[0] != p {
				t.Errorf("in the drawer is %+v, want what is kept", got)
			}
			shows(t, m, "It is in the drawer now.", "In the drawer: ")
			if late := m.TakeID("part-902"); late != nil || len(inDrawer(m, "Mine")) != 1 {
				t.Errorf("a second ID asks for %+v", late)
			}
			// It is offered at once, and the next new one begins empty.
			press(m, "esc")
			list, open := m.dialog.(*picker)
			if !open || list.found[list.at].part != p {
				t.Fatalf("after Esc %T is open, not on the new %s", m.dialog, k)
			}
			if r := press(m, "ctrl+a"); r != (NewPart{}) || strings.Contains(screen(m), "Mine") {
				t.Errorf("the next new %s asks for %+v:\n%s", k, r, screen(m))
			}
		}
	}
}

// Every further value of a part that is stored is kept as it is entered.
func TestEveryFurtherValueOfAPartIsKept(t *testing.T) {
	m := benchOf(t, nil)
	describe(t, m, part.KindHead)
	m.TakeID("part-901")
	enter[part.Part](t, m, "name", "Mine")
	enter[part.Part](t, m, "weight_gr", "100")
	for key, c := range map[string]struct {
		text string
		want func(p part.Part) bool
	}{
		"price":       {"12.5", func(p part.Part) bool { return p.Trade().Price == unit.Some(12.5) }},
		"note":        {"from the shop", func(p part.Part) bool { return p.Trade().Note == "from the shop" }},
		"balance_in":  {"-0.25", func(p part.Part) bool { return p.Head.Value.Balance == unit.Some(-0.25*unit.Inch) }},
		"weight_u_gr": {"0.5", func(p part.Part) bool { return p.Head.Value.WeightU == unit.Some(0.5*unit.Grain) }},
	} {
		if p := keptPart(t, enter[part.Part](t, m, key, c.text)); !c.want(p) || p.Name() != "Mine" || p.ID != "part-901" {
			t.Errorf("%s %s: kept is %+v", key, c.text, p)
		}
	}
	onLine[part.Part](t, m, "shape")
	if p := keptPart(t, press(m, "+")); p.Head.Value.Shape != part.Cone { // behind the ogive, which is usual
		t.Errorf("the shape is %q", p.Head.Value.Shape)
	}
	onLine[part.Part](t, m, "retired")
	if p := keptPart(t, press(m, "enter")); !p.Retired {
		t.Errorf("kept is %+v", p)
	}
}

// What was weighed counts: it is kept beside what is stated, and clearing it
// brings the stated weight back.
func TestAWeighedPartKeepsBothWeights(t *testing.T) {
	for _, c := range []struct {
		kind   part.Kind
		key    string
		stated func(p *part.Part) float64
		as     func(p part.Part) float64
	}{
		{part.KindHead, "weight_gr", func(p *part.Part) float64 { return p.StatedWeight().In(unit.Grain) }, func(p part.Part) float64 { return p.Weight(0).In(unit.Grain) }},
		{part.KindShaft, "weight_gr_per_in", func(p *part.Part) float64 { return p.Shaft.Value.WeightPerInch.Value.In(unit.GrainPerInch) },
			func(p part.Part) float64 { return p.Weight(10*unit.Inch).In(unit.Grain) / 10 }},
	} {
		m := benchOf(t, nil)
		p := partOf(m.drawer, c.kind)
		p.Measured = unit.Optional[part.Measured]{}
		m.drawer[slices.IndexFunc(m.drawer, func(x part.Part) bool { return x.ID == p.ID })] = p
		f := openPart(t, m, p.ID)
		stated := c.stated(&p)
		f.at = slices.IndexFunc(f.lines, func(l line[part.Part]) bool { return l.title == "mean weight" })
		press(m, "enter")
		write(m, "9.75")
		got := keptPart(t, press(m, "enter"))
		if !near(c.as(got), 9.75) || !near(c.stated(&got), stated) || !got.Measured.Given {
			t.Errorf("a %s of %v that was weighed at 9.75 counts as %v and states %v", c.kind, stated, c.as(got), c.stated(&got))
		}
		press(m, "enter", "backspace")
		if got = keptPart(t, press(m, "enter")); got.Measured.Given || !near(c.as(got), stated) {
			t.Errorf("after clearing it counts as %v, want the stated %v: %+v", c.as(got), stated, got.Measured)
		}
	}
}

func near(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// Esc loses nothing that was typed: Ctrl+A goes on with it.
func TestAPartThatLacksSomethingWaitsToBeFinished(t *testing.T) {
	m := benchOf(t, nil)
	before := slices.Clone(m.drawer)
	describe(t, m, part.KindInsert)
	m.TakeID("part-901")
	enter[part.Part](t, m, "name", "Half")
	enter[part.Part](t, m, "weight_gr", "33")
	if r := press(m, "esc"); r != nil || !slices.Equal(before, m.drawer) {
		t.Errorf("Esc asks for %+v; %d parts are in the drawer", r, len(m.drawer))
	}
	shows(t, m, "it needs depth in the shaft", "Ctrl+A goes on with it")
	press(m, "esc", "up", "enter", "esc") // elsewhere and back
	if r := describe(t, m, part.KindInsert); r != nil {
		t.Errorf("going on with it asks for %+v", r)
	}
	shows(t, m, "Half", "33 gr", "The insert you began")
	// A part of another kind is another draft.
	press(m, "esc", "esc")
	if r := describe(t, m, part.KindHead); r != (NewPart{}) || strings.Contains(screen(m), "Half") {
		t.Errorf("a new head asks for %+v:\n%s", r, screen(m))
	}
	press(m, "esc", "esc")
	describe(t, m, part.KindInsert)
	p := keptPart(t, enter[part.Part](t, m, "depth_in", "1"))
	if p.ID != "part-901" || p.Name() != "Half" || p.Insert.Value.Weight != 33*unit.Grain || p.Insert.Value.Depth != unit.Inch {
		t.Errorf("kept is %+v", p)
	}
}

// holders says which builds hold the piece of a part as it counts.
func holders(m *Model, p part.Part) string {
	out := ""
	for i := range m.Job().Builds {
		if held, has := session.Held(&m.Job().Builds[i], p.Kind); has && held.Bare() == p.Weighed().Bare() {
			out += string(rune('A' + i))
		}
	}
	return out
}

// filed returns parts as a file gives them back.
func filed(t testing.TB, drawer []part.Part) []part.Part {
	t.Helper()
	out := make([]part.Part, len(drawer))
	for i := range drawer {
		if err := record.Decode(record.Encode(drawer[i]), &out[i]); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// All three builds have a head or a nock of the drawer; two share one.
func TestBuildsOnTheBenchFollowAPartThatIsEdited(t *testing.T) {
	for _, c := range []struct {
		build   int
		kind    part.Kind
		key     string
		text    string
		holders string
	}{
		{0, part.KindHead, "length_in", "1.125", "AC"}, {0, part.KindNock, "throat_in", "0.4", "AB"}, {1, part.KindNock, "price", "2.25", "AB"},
		{1, part.KindVanes, "rear_in", "1.5", "B"}, {2, part.KindShaft, "stock_length_in", "31", "C"}, {1, part.KindWrap, "length_in", "5", "B"},
		{1, part.KindCollar, "name", "Mine", "B"}, {0, part.KindInsert, "note", "mine", "A"},
	} {
		// The third build gets the first one's head, and the drawer goes through a
		// file like the bench.
		m := benchOf(t, func(j *job.Job) { j.Builds[2].Head = j.Builds[0].Head })
		m.drawer = filed(t, m.drawer)
		before := m.Job().Encode()
		held, _ := session.Held(&m.Job().Builds[c.build], c.kind)
		at := slices.IndexFunc(m.drawer, func(p part.Part) bool { return p.Kind == c.kind && p.Weighed().Bare() == held.Bare() })
		if at < 0 {
			t.Fatalf("the %s of build %d is not from the drawer", c.kind, c.build)
		}
		was := m.drawer[at]
		if got := holders(m, was); got != c.holders {
			t.Fatalf("builds %s have the %s, want %s", got, c.kind, c.holders)
		}
		openPart(t, m, was.ID)
		now := keptPart(t, enter[part.Part](t, m, c.key, c.text))
		if got := holders(m, now); got != c.holders || holders(m, was) != "" {
			t.Errorf("%s %s %s: builds %s follow and %s do not, want %s to", c.kind, c.key, c.text, got, holders(m, was), c.holders)
		}
		if !strings.Contains(m.message, "On the bench "+strings.Join(strings.Split(c.holders, ""), ", ")+" has it and follows.") {
			t.Errorf("it says %q", m.message)
		}
		// Nothing else of the builds changed.
		j := m.Job().Clone()
		for i := range j.Builds {
			if strings.ContainsRune(c.holders, rune('A'+i)) {
				session.Put(&j.Builds[i], was)
			}
		}
		if string(j.Encode()) != string(before) {
			t.Errorf("%s %s changed something else on the bench", c.kind, c.key)
		}
		// The drawer is not part of the bench: undo reaches the builds from there.
		press(m, "z")
		if string(m.Job().Encode()) == string(before) || !strings.Contains(m.message, "not part of the bench") {
			t.Errorf("undo in the form of a part says %q", m.message)
		}
		press(m, "esc", "esc", "z")
		kept(t, m, before, "after undo")
		if got := m.drawer[at]; got != now {
			t.Errorf("after undo the drawer has %+v", got)
		}
	}
}

// They follow every further change as well, and what is kept of the drawer from
// before stays as it was.
func TestBuildsFollowEveryChangeOfAPart(t *testing.T) {
	m := benchOf(t, nil)
	held, _ := session.Held(m.build(), part.KindHead)
	at := slices.IndexFunc(m.drawer, func(p part.Part) bool { return p.Weighed().Bare() == held.Bare() })
	drawer := m.drawer
	was := drawer[at]
	openPart(t, m, was.ID)
	for _, c := range []struct{ key, text string }{{"name", "First"}, {"length_in", "1.125"}, {"name", "Second"}, {"price", "7.5"}} {
		enter[part.Part](t, m, c.key, c.text)
		if now := m.drawer[at]; holders(m, now) != "A" || now == was {
			t.Errorf("after %s %s builds %q follow %+v", c.key, c.text, holders(m, now), now)
		}
	}
	if drawer[at] != was {
		t.Errorf("the drawer of before has %+v", drawer[at])
	}
}

// A piece that was changed for one build alone is that build's own.
func TestABuildWithItsOwnPieceDoesNotFollow(t *testing.T) {
	m := benchOf(t, nil)
	m.focus(1)
	onSlot(m, kindSlot(part.KindNock))
	press(m, "E")
	enter[part.Part](t, m, "name", "B's own")
	press(m, "esc")
	own := m.Job().Builds[1].Nock
	m.focus(0)
	held, _ := session.Held(&m.Job().Builds[0], part.KindNock)
	p := m.drawer[slices.IndexFunc(m.drawer, func(p part.Part) bool { return p.Weighed().Bare() == held.Bare() })]
	openPart(t, m, p.ID)
	enter[part.Part](t, m, "price", "9.5")
	if m.Job().Builds[1].Nock != own || m.Job().Builds[0].Nock.Price != unit.Some(9.5) {
		t.Errorf("the nocks are %+v and %+v", m.Job().Builds[0].Nock, m.Job().Builds[1].Nock)
	}
}

// A part of the drawer that is emptied of what it needs is not stored like that,
// and builds keep it as it was; when it is whole again they follow.
func TestAnEditedPartThatLacksSomethingIsNotStored(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	held, _ := session.Held(&m.Job().Builds[0], part.KindHead)
	at := slices.IndexFunc(m.drawer, func(p part.Part) bool { return p.Weighed().Bare() == held.Bare() })
	was := m.drawer[at]
	openPart(t, m, was.ID)
	onLine[part.Part](t, m, "name")
	press(m, "enter", "backspace")
	if r := press(m, "enter"); r != nil || m.drawer[at] != was {
		t.Errorf("a part without a name is kept: %+v", r)
	}
	kept(t, m, before, "after the name was taken")
	shows(t, m, "It needs a name")
	now := keptPart(t, enter[part.Part](t, m, "name", "Named again"))
	if now.ID != was.ID || m.drawer[at] != now || m.Job().Builds[0].Head.Name != "Named again" {
		t.Errorf("kept is %+v, and the build has %q", now, m.Job().Builds[0].Head.Name)
	}
	if len(inDrawer(m, "Named again")) != 1 {
		t.Error("it is in the drawer twice")
	}
}

func TestOnlyAPartOfTheDrawerCanBeEditedThere(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "enter", "home", "ctrl+e") // “none” stands first
	if _, open := m.dialog.(*picker); !open || !strings.Contains(m.message, "Move to a part") {
		t.Errorf("Ctrl+E on nothing opens %T and says %q", m.dialog, m.message)
	}
	write(m, "63.5")
	press(m, "ctrl+e")
	if _, open := m.dialog.(*picker); !open || !strings.Contains(m.message, "Move to a part") {
		t.Errorf("Ctrl+E on a weight opens %T and says %q", m.dialog, m.message)
	}
	write(m, "qqq")
	press(m, "ctrl+e")
	if _, open := m.dialog.(*picker); !open {
		t.Errorf("Ctrl+E on an empty list opens %T", m.dialog)
	}
}
