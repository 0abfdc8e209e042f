package bench

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// saving types a name under which the bench is saved, or one build, and returns what that
// asks for.
func saving(m *Model, s *fakeShelf, key, name string) Request {
	answered(m, s, press(m, key))
	write(m, name)
	return press(m, "enter")
}

func TestForWhomIsAskedOfANewNameWhereThereAreCustomers(t *testing.T) {
	for name, c := range map[string]struct {
		key, name string
		change    func(s *fakeShelf)
		asks      bool
	}{
		"a new name":                 {"s", "Evening", nil, true},
		"a build":                    {"S", "Evening", nil, true},
		"a name of another kind":     {"s", "Range day", nil, true},
		"other capitals":             {"s", "autumn woods", nil, true}, // another name
		"a known name":               {"s", "Autumn woods", nil, false},
		"a known build":              {"S", "Range day", nil, false},
		"a name in the bin":          {"S", "Old trial", nil, false},
		"nobody is known":            {"s", "Evening", func(s *fakeShelf) { s.customers = nil }, false},
		"the list could not be read": {"s", "Evening", func(s *fakeShelf) { s.err = errShelf }, false},
	} {
		m, s := benchOf(t, nil), sampleShelf()
		if c.change != nil {
			c.change(s)
		}
		r := saving(m, s, c.key, c.name)
		_, open := m.dialog.(*forWhom)
		save, saves := r.(Save)
		if open != c.asks || saves == c.asks {
			t.Errorf("%s: it asks for %+v with %T open", name, r, m.dialog)
		}
		if saves && (save.Name != c.name || save.Customer != "" || save.Job != m.Job() || m.dialog != nil) {
			t.Errorf("%s: it asks for %+v with %T open", name, save, m.dialog)
		}
		if len(s.calls) > 0 {
			t.Errorf("%s: it did %q", name, s.calls)
		}
	}
}

func TestForWhomSomethingIsSaved(t *testing.T) {
	for name, c := range map[string]struct {
		typed   string
		presses []string
		want    string
		shown   []string
	}{
		"nobody":                  {"", []string{"enter"}, "", []string{"▸ nobody", "  " + bram, "  " + wren}},
		"one who is known":        {"", []string{"end", "enter"}, wren, []string{"▸ nobody"}},
		"filtered":                {"alder", []string{"enter"}, wren, []string{"▸ " + wren, "a new customer: alder"}},
		"in other capitals":       {strings.ToUpper(wren), []string{"end", "enter"}, wren, []string{"▸ " + wren}},
		"a new one":               {"Cole Birch (invented)", []string{"enter"}, "Cole Birch (invented)", []string{"▸ a new customer: Cole Birch (invented)"}},
		"a new one among others":  {"ram", []string{"enter"}, "ram", []string{"▸ a new customer: ram", "  " + bram}},
		"typed and taken back":    {"zz", []string{"backspace", "backspace", "enter"}, "", []string{"a new customer: zz"}},
		"spaces around the name":  {"  Cole  ", []string{"enter"}, "Cole", []string{"▸ a new customer: Cole"}},
		"moved beyond either end": {"", []string{"up", "pgdown", "pgdown", "down", "enter"}, wren, []string{"▸ nobody"}},
	} {
		t.Run(name, func(t *testing.T) {
			m, s := benchOf(t, nil), sampleShelf()
			m.focus(1)
			if r := saving(m, s, "S", "Evening"); r != nil {
				t.Errorf("before it is known for whom it asks for %+v", r)
			}
			shows(t, m, "Save Evening for", "For which customer?")
			write(m, c.typed)
			shows(t, m, c.shown...)
			if n := strings.Count(screen(m), "a new customer:"); n > 1 || n == 1 && strings.EqualFold(c.typed, wren) {
				t.Errorf("a new customer is offered %d times:\n%s", n, screen(m))
			}
			want := Save{Name: "Evening", What: SavedBuild, Build: 1, Job: m.Job(), Customer: c.want}
			if r := press(m, c.presses...); r != Request(want) {
				t.Errorf("it asks for %+v, want it for %q", r, c.want)
			}
			if m.dialog != nil || len(m.under) > 0 {
				t.Errorf("%T is open", m.dialog)
			}
		})
	}
}

func TestEscOnForWhomSavesNothing(t *testing.T) {
	m, s := benchOf(t, nil), sampleShelf()
	saving(m, s, "s", "Evening")
	write(m, "wren")
	if r := press(m, "esc"); r != nil || m.dialog != nil || m.message != "Not saved." || m.session.Name() != "" {
		t.Errorf("Esc asks for %+v, opens %T and says %q", r, m.dialog, m.message)
	}
}

func TestAClickChoosesForWhom(t *testing.T) {
	for _, size := range clickSizes {
		m, s := benchOf(t, nil), sampleShelf()
		m.SetSize(size[0], size[1])
		saving(m, s, "s", "Evening")
		y := slices.IndexFunc(m.Lines(), func(l string) bool { return strings.HasPrefix(l, "   "+wren) })
		if r := clickAt(m, 5, y); r != nil {
			t.Errorf("%v: the first click asks for %+v", size, r)
		}
		shows(t, m, "▸ "+wren)
		if r, ok := clickAt(m, 5, y).(Save); !ok || r.Customer != wren {
			t.Errorf("%v: the second click asks for %+v", size, r)
		}
	}
}

// onEntry opens the form of what is first on the shelf, and onCustomer that of the second
// customer.
func onEntry(t testing.TB) (*Model, *fakeShelf, *form[entryWords]) {
	t.Helper()
	m, s := onSaved(t, "ctrl+e")
	return m, s, m.dialog.(*form[entryWords])
}

func onCustomer(t testing.TB) (*Model, *fakeShelf, *form[store.Customer]) {
	t.Helper()
	m, s := onSaved(t, append(toCustomers, "end", "ctrl+e")...)
	return m, s, m.dialog.(*form[store.Customer])
}

// enterOn types a text into a line of the form that is open.
func enterOn(m *Model, line int, text string) Request {
	press(m, "home")
	for range line {
		press(m, "down")
	}
	return typeIn(m, text)
}

func TestByWhatSomethingIsFoundIsEdited(t *testing.T) {
	before := benchOf(t, nil).Job().Encode()
	for line, c := range []struct {
		typed string
		want  entryWords
		says  string
	}{
		{"Late autumn", entryWords{"Late autumn", wren, "broadhead season"}, "Changed: name."},
		{"bram OAKE (Invented)", entryWords{"Autumn woods", bram, "broadhead season"}, "Changed: customer."},
		{"elk, 2026", entryWords{"Autumn woods", wren, "elk, 2026"}, "Changed: tags."},
	} {
		m, s, f := onEntry(t)
		answered(m, s, enterOn(m, line, c.typed))
		want := fmt.Sprintf("describe 4 %q %q %q", c.want.Name, c.want.Customer, c.want.Tags)
		if !slices.Equal(s.calls, []string{want}) || f.load(m) != c.want {
			t.Errorf("it did %q and shows %+v, want %s", s.calls, f.load(m), want)
		}
		shows(t, m, c.says)
		kept(t, m, before, "after editing what is saved")
		press(m, "esc")
		shows(t, m, "▸ "+c.want.Name)
	}
	m, s, f := onEntry(t)
	answered(m, s, enterOn(m, 1, "Cole Birch (invented)"))
	if len(m.customers) != 3 || f.load(m).Customer != "Cole Birch (invented)" {
		t.Errorf("known are %+v", m.customers)
	}
	shows(t, m, "3 customers:", "Cole Birch (invented)")
	// Emptied it is nobody's; the name cannot be emptied.
	press(m, "enter", "backspace")
	s.do(m, "enter")
	if f.load(m).Customer != "" || s.named("Autumn woods").Customer != "" {
		t.Errorf("it is for %q", f.load(m).Customer)
	}
	press(m, "home", "enter", "backspace")
	if r := press(m, "enter"); r != nil || !m.Typing() {
		t.Errorf("without a name it asks for %+v", r)
	}
	press(m, "esc", "z")
	if !strings.Contains(m.message, "This is not part of the bench") {
		t.Errorf("undo says %q", m.message)
	}
}

func TestACustomerIsEdited(t *testing.T) {
	m, s, f := onCustomer(t)
	answered(m, s, enterOn(m, 1, "a left-handed bow"))
	if want := (store.Customer{Name: wren, Note: "a left-handed bow"}); f.load(m) != want || s.customers[1] != want {
		t.Errorf("it shows %+v and keeps %+v", f.load(m), s.customers)
	}
	answered(m, s, enterOn(m, 0, "Wren Ash (invented)"))
	if s.named("Autumn woods").Customer != "Wren Ash (invented)" || len(s.customers) != 2 {
		t.Errorf("what is theirs is for %q", s.named("Autumn woods").Customer)
	}
	shows(t, m, "2 things saved.")
	// Capitals are no other customer.
	answered(m, s, enterOn(m, 0, "WREN ASH (invented)"))
	if f.load(m).Name != "WREN ASH (invented)" || len(s.customers) != 2 || m.alerting() {
		t.Errorf("%+v, and it says %q", s.customers, m.message)
	}
}

// What the workbook refuses is not shown as if it were kept, and the next change begins
// with what is kept.
func TestAFormShowsWhatIsKeptAfterARefusal(t *testing.T) {
	m, s, f := onEntry(t)
	was := f.load(m)
	answered(m, s, enterOn(m, 0, "Spring meeting"))
	tells(t, m, `Not changed. Another bench is called "Spring meeting"`)
	if f.load(m) != was {
		t.Errorf("it shows %+v, want %+v", f.load(m), was)
	}
	answered(m, s, enterOn(m, 2, "elk"))
	if want := (entryWords{"Autumn woods", wren, "elk"}); f.load(m) != want || len(s.calls) != 1 {
		t.Errorf("it shows %+v after %q", f.load(m), s.calls)
	}

	mc, s, fc := onCustomer(t)
	answered(mc, s, enterOn(mc, 0, "BRAM oake (invented)"))
	tells(t, mc, fmt.Sprintf("Not changed. There is a customer %q already", bram))
	if fc.load(mc).Name != wren {
		t.Errorf("it shows %+v", fc.load(mc))
	}
	answered(mc, s, enterOn(mc, 1, "elk"))
	if want := []store.Customer{{Name: bram}, {Name: wren, Note: "elk"}}; !slices.Equal(s.customers, want) {
		t.Errorf("kept are %+v, want %+v", s.customers, want)
	}
}

// A change that is made before the one before it was answered does not build on what is
// refused in the end.
func TestAChangeBehindOneThatIsRefused(t *testing.T) {
	m, s, f := onEntry(t)
	first := enterOn(m, 0, "Spring meeting") // taken
	second := enterOn(m, 2, "elk")
	for _, r := range []Request{first, second} {
		answered(m, s, r)
	}
	now := s.named("Autumn woods")
	if now == nil {
		t.Fatalf("the entries are %+v", s.entries)
	}
	if is := f.load(m); is != (entryWords{now.Name, now.Customer, now.Tags}) {
		t.Errorf("the form shows %+v, kept is %+v", is, *now)
	}

	mc, s, fc := onCustomer(t)
	s.customers[0].Note = "what only Bram knows"
	first = enterOn(mc, 0, bram) // another customer
	second = enterOn(mc, 1, "elk")
	for _, r := range []Request{first, second} {
		answered(mc, s, r)
	}
	i := slices.IndexFunc(s.customers, func(c store.Customer) bool { return c.Name == bram })
	if i < 0 || s.customers[i].Note != "what only Bram knows" {
		t.Errorf("another customer was changed: %+v", s.customers)
	}
	if is := fc.load(mc); !slices.Contains(s.customers, is) {
		t.Errorf("the form shows %+v, kept are %+v", is, s.customers)
	}
}

// Two changes of which the first is not answered before the second is made are both kept.
func TestTwoChangesInARowAreBothKept(t *testing.T) {
	m, s, f := onEntry(t)
	for _, r := range []Request{enterOn(m, 0, "Late autumn"), enterOn(m, 2, "elk")} {
		answered(m, s, r)
	}
	if now, want := s.entry(Entry{ID: 4}), (entryWords{"Late autumn", wren, "elk"}); (entryWords{now.Name, now.Customer, now.Tags}) != want || f.load(m) != want {
		t.Errorf("kept is %+v and shown %+v, want %+v", *now, f.load(m), want)
	}

	mc, s, fc := onCustomer(t)
	for _, r := range []Request{enterOn(mc, 0, "Wren Ash (invented)"), enterOn(mc, 1, "elk")} {
		answered(mc, s, r)
	}
	if want := (store.Customer{Name: "Wren Ash (invented)", Note: "elk"}); !slices.Equal(s.customers, []store.Customer{{Name: bram}, want}) || fc.load(mc) != want {
		t.Errorf("kept are %+v and shown is %+v, want %+v", s.customers, fc.load(mc), want)
	}
	if s.named("Autumn woods").Customer != "Wren Ash (invented)" {
		t.Errorf("what is theirs is for %q", s.named("Autumn woods").Customer)
	}
}

// A bench that is open under a name that is changed here goes by the new one.
func TestTheOpenBenchGoesByItsNewName(t *testing.T) {
	m, s := benchOf(t, nil), sampleShelf()
	m.Saved("Autumn woods", m.Job())
	s.do(m, "o", "ctrl+e")
	answered(m, s, enterOn(m, 0, "Late autumn"))
	if head := m.Lines()[0]; !strings.Contains(head, "“Late autumn”") || strings.Contains(head, "changed") {
		t.Errorf("the header says %q", head)
	}
	// A build of that name is no bench.
	m, s = benchOf(t, nil), sampleShelf()
	m.Saved("Range day", m.Job())
	s.do(m, "o", "down", "ctrl+e")
	answered(m, s, enterOn(m, 0, "Another day"))
	shows(t, m, "“Range day”")
}

func TestANewCustomerIsRefusedWithASentence(t *testing.T) {
	for typed, says := range map[string]string{"": "Type a name, or leave with Esc.", "   ": "Type a name, or leave with Esc.", strings.ToUpper(bram): fmt.Sprintf("%q is a customer already.", bram)} {
		m, s := onSaved(t, "ctrl+a")
		write(m, typed)
		if r := press(m, "enter"); r != nil || m.message != says || !m.Typing() {
			t.Errorf("%q asks for %+v and says %q, want %q", typed, r, m.message, says)
		}
		press(m, "esc")
		if _, open := m.dialog.(*savedScreen); !open || len(s.calls) > 0 {
			t.Errorf("%T is open, and it did %q", m.dialog, s.calls)
		}
	}
	m, s := onSaved(t, "ctrl+a")
	write(m, "  Cole   Birch ")
	s.do(m, "enter")
	if len(s.customers) != 3 || s.customers[1].Name != "Cole   Birch" {
		t.Errorf("known are %+v", s.customers)
	}
	shows(t, m, "Saved: customers   3 of 3")
}

// toErase leads from the list to the question about the second customer.
var toErase = append(slices.Clone(toCustomers), "end", "ctrl+x")

func TestErasingShowsWhatGoesAndAsksForTheName(t *testing.T) {
	for _, size := range sizes[5:] {
		m, s := onSaved(t, toErase...)
		m.SetSize(size[0], size[1])
		shows(t, m, "Erase "+wren+" for good?")
		for _, words := range []string{"The bench “Autumn woods” goes, with 3 revisions", "The build “Old trial” goes, with 2 revisions", "The bench “Spring meeting” goes, with 2 revisions",
			"2 backups of the workbook", "This cannot be undone", "Esc leaves everything as it is"} {
			tells(t, m, words)
		}
		before := m.Job().Encode()
		for _, wrong := range []string{"", "Wren", "Wren Alder", bram, "yes", wren + " x"} {
			write(m, wrong)
			if r := press(m, "enter"); r != nil || !strings.Contains(m.message, "That is not the name") {
				t.Errorf("%q asks for %+v and says %q", wrong, r, m.message)
			}
			for range len(wrong) {
				press(m, "backspace")
			}
		}
		s.do(m, "esc")
		if _, open := m.dialog.(*savedScreen); !open || len(s.calls) > 0 || m.message != "Nothing was erased." {
			t.Errorf("Esc leads to %T after %q and says %q", m.dialog, s.calls, m.message)
		}
		kept(t, m, before, "after Esc")
	}
	for _, typed := range []string{wren, strings.ToUpper(wren), "  wren alder (invented) "} {
		m, s := onSaved(t, toErase...)
		write(m, typed)
		r := press(m, "enter")
		if a, ok := r.(Ask); !ok || !a.Alone {
			t.Fatalf("%q asks for %+v, want it done alone", typed, r)
		}
		answered(m, s, r)
		if !slices.Equal(s.calls, []string{fmt.Sprintf("erase %q", wren)}) {
			t.Errorf("%q did %q", typed, s.calls)
		}
		tells(t, m, "Erased: the customer, 3 saved things, and the name wherever else it stood")
		shows(t, m, "Saved: customers   1 of 1")
	}
}

// However much goes and however long the name is, the name and that nothing brings it back
// are in sight where the name is typed.
func TestTheQuestionBeforeErasingIsInSight(t *testing.T) {
	for what, change := range map[string]func(s *fakeShelf) string{
		"much": func(s *fakeShelf) string {
			for i := range 60 {
				s.entries = append(s.entries, Entry{ID: uint64(200 + i), Name: fmt.Sprintf("Trial %d", i), Customer: wren, Revisions: 1})
			}
			return wren
		},
		"a long name": func(s *fakeShelf) string {
			long := "Wren " + strings.Repeat("of a house with many names ", 4) + "(invented)"
			s.customers = append(s.customers, store.Customer{Name: long})
			return long
		},
	} {
		for _, size := range sizes[5:] {
			m, s := onSaved(t)
			m.SetSize(size[0], size[1])
			name := change(s)
			s.sort()
			answered(m, s, List{})
			s.do(m, toCustomers...)
			l := m.dialog.(*savedScreen)
			l.at = slices.IndexFunc(l.found, func(i int) bool { return l.customers[i].Name == name })
			s.do(m, "ctrl+x")
			tells(t, m, name)
			if !strings.Contains(screen(m), "cannot be undone") {
				t.Errorf("%s at %v: the screen does not warn:\n%s", what, size, screen(m))
			}
			if foot := m.Lines()[size[1]-1]; !strings.Contains(foot, "erase") {
				t.Errorf("%s at %v: the last line does not say what Enter does: %q", what, size, foot)
			}
		}
	}
}

func TestWhatStillHasTheNameIsSaid(t *testing.T) {
	m, s := onSaved(t)
	s.left = []string{"/home/workbook.old", "/home/workbook.copy"}
	s.do(m, toErase...)
	tells(t, m, "/home/workbook.copy still has the name and cannot be written anew: delete it yourself")
	write(m, wren)
	s.do(m, "enter")
	tells(t, m, "Erased, but the name is still in /home/workbook.old, /home/workbook.copy, which could not be written anew: delete it yourself.")
	if !m.alerting() {
		t.Error("it is said in passing")
	}
}

// remembers lists where something reachable from a value has a text in it. Functions
// cannot be looked into.
func remembers(v any, text string) []string {
	var out []string
	seen := map[uintptr]bool{}
	var walk func(v reflect.Value, at string)
	walk = func(v reflect.Value, at string) {
		switch v.Kind() {
		case reflect.String:
			if strings.Contains(v.String(), text) {
				out = append(out, at)
			}
		case reflect.Pointer, reflect.Interface:
			if v.IsNil() {
				return
			}
			if v.Kind() == reflect.Pointer {
				if seen[v.Pointer()] {
					return
				}
				seen[v.Pointer()] = true
			}
			walk(v.Elem(), at)
		case reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i), at+"."+v.Type().Field(i).Name)
			}
		case reflect.Slice, reflect.Array:
			switch v.Type().Elem().Kind() {
			case reflect.Uint8, reflect.Int32:
				var runes []rune
				for i := range v.Len() {
					if v.Type().Elem().Kind() == reflect.Uint8 {
						runes = append(runes, rune(v.Index(i).Uint()))
					} else {
						runes = append(runes, rune(v.Index(i).Int()))
					}
				}
				walk(reflect.ValueOf(string(runes)), at)
				return
			}
			for i := range v.Len() {
				walk(v.Index(i), fmt.Sprintf("%s[%d]", at, i))
			}
		case reflect.Map:
			for it := v.MapRange(); it.Next(); {
				walk(it.Key(), at+" key")
				walk(it.Value(), fmt.Sprintf("%s[%v]", at, it.Key()))
			}
		}
	}
	walk(reflect.ValueOf(v), "")
	return out
}

// theirs is a bench on which a customer's name stands in many places, with a past and a
// future of such benches, and with what was looked for and begun.
func theirs(t testing.TB) (*Model, *fakeShelf) {
	t.Helper()
	m, s := benchOf(t, func(j *job.Job) {
		j.Bow.Value.Name, j.Builds[0].Name, j.Builds[1].Head.Note = "Bow of "+wren, wren, "sharpened for "+wren
	}), sampleShelf()
	m.drawer[slices.IndexFunc(m.drawer, func(p part.Part) bool { return p.Kind == part.KindHead })].Head.Value.Note = "put aside for " + wren
	m.Saved("Autumn woods", m.Job())
	finish(m, press(m, "4"))
	press(m, "esc", "g", "esc")
	press(m, "enter")
	press(m, "ctrl+a", "enter")
	write(m, "insert of "+wren)
	press(m, "enter", "esc", "esc")
	press(m, "+", "+", "d", "z", "right", "+", "left")
	s.bench, s.drawer = m.Job(), m.drawer
	if len(remembers(m, wren)) < 10 {
		t.Fatalf("the name stands in %q", remembers(m, wren))
	}
	return m, s
}

// After a customer was erased nothing that the program holds has the name in it: neither
// the bench nor what undo and redo could bring back.
func TestNothingRemembersWhoWasErased(t *testing.T) {
	for name, way := range map[string][]string{"from the list of customers": toErase, "after looking what is theirs": append(append(slices.Clone(toCustomers), "end", "enter"), append(slices.Repeat([]string{"tab"}, 4), "ctrl+x")...)} {
		m, s := theirs(t)
		s.do(m, "o")
		s.do(m, way...)
		if _, open := m.dialog.(*eraseScreen); !open {
			t.Fatalf("%s: %T is open", name, m.dialog)
		}
		write(m, wren)
		s.do(m, "enter")
		for _, place := range remembers(m, wren) {
			t.Errorf("%s: the name is still in %s", name, place)
		}
		if strings.Contains(screen(m), wren) {
			t.Errorf("%s: the name is still on the screen:\n%s", name, screen(m))
		}
		press(m, "esc")
		if !strings.Contains(screen(m), store.ErasedName) || len(m.Job().Builds) != 3 {
			t.Errorf("%s: the bench is not the one that came back:\n%s", name, screen(m))
		}
		before := m.Job().Encode()
		for _, key := range []string{"z", "Z", "z", "z"} {
			press(m, key)
			kept(t, m, before, name+": after "+key)
			shows(t, m, "Nothing to ")
		}
		if &m.drawer[0] != &s.drawer[0] {
			t.Errorf("%s: the drawer is not the one that came back", name)
		}
		// It goes on like any other bench.
		press(m, "+")
		if bytes.Equal(before, m.Job().Encode()) {
			t.Error("+ changes nothing")
		}
		press(m, "z")
		kept(t, m, before, "after undo")
		for _, key := range []string{"4", "g", "2", "3", "6", "b"} {
			finish(m, press(m, key))
			checkFrame(t, key, m.Lines(), 120, 36)
			if strings.Contains(screen(m), wren) {
				t.Errorf("%s shows the name:\n%s", key, screen(m))
			}
			press(m, "esc")
		}
	}
}

// Someone who was erased is not offered any more, even where the list cannot be read then.
func TestWhoWasErasedIsNotOfferedWhenTheListFails(t *testing.T) {
	m, s := onSaved(t, toErase...)
	write(m, wren)
	r := press(m, "enter").(Ask).Do(s)(m)
	s.err = errShelf
	answered(m, s, r)
	press(m, "esc", "esc")
	if places := remembers(m, wren); len(places) > 0 {
		t.Errorf("the name is still in %q", places)
	}
}

// The name of the bench goes when what is saved under it goes, or has the customer's name
// in it, and stays otherwise.
func TestTheNameOfTheBenchAfterAnErase(t *testing.T) {
	for name, want := range map[string]string{
		"Autumn woods": "", "for " + strings.ToLower(wren): "", wren: "", "Evening": "Evening", "Range day": "Range day", // a build of another
		"Old trial": "Old trial", // a build, not a bench
		"":          "",
	} {
		m, s := benchOf(t, nil), sampleShelf()
		m.Saved(name, m.Job())
		s.bench = m.Job()
		s.do(m, "o")
		s.do(m, toErase...)
		write(m, wren)
		s.do(m, "enter", "esc")
		if got := m.session.Name(); got != want || m.View().Name != want {
			t.Errorf("the bench was called %q and is called %q, want %q", name, got, want)
		}
	}
}

// A bench that is as it was saved is not called changed because someone else was erased.
func TestAnEraseDoesNotCallTheBenchChanged(t *testing.T) {
	for _, changed := range []bool{false, true} {
		m, s := benchOf(t, nil), sampleShelf()
		m.Saved("Evening", m.Job())
		if changed {
			press(m, "+")
		}
		s.bench = m.Job()
		s.do(m, "o")
		s.do(m, toErase...)
		write(m, wren)
		s.do(m, "enter", "esc")
		if head := m.Lines()[0]; !strings.Contains(head, "“Evening”") || strings.Contains(head, "changed") != changed {
			t.Errorf("changed %v before, the header says %q", changed, head)
		}
	}
}

// The focus stays inside a bench that came back smaller.
func TestAnEraseOfASmallerBench(t *testing.T) {
	m, s := benchOf(t, builds(5)), sampleShelf()
	m.focus(4)
	smaller := m.Job().Clone()
	builds(2)(smaller)
	s.bench = smaller
	s.do(m, "o")
	s.do(m, toErase...)
	write(m, wren)
	s.do(m, "enter", "esc")
	if m.col != 1 {
		t.Errorf("the focus is on column %d", m.col)
	}
	checkFrame(t, "smaller", m.Lines(), 120, 36)

	m, s = benchOf(t, nil), sampleShelf()
	s.bench = job.New()
	s.do(m, "o")
	s.do(m, toErase...)
	write(m, wren)
	s.do(m, "enter", "esc", "+", "z", "right")
	checkFrame(t, "empty", m.Lines(), 120, 36)
}

// The currency of prices that name none is the one that is chosen, as at the start.
func TestAnEraseKeepsTheCurrency(t *testing.T) {
	m, s := benchOf(t, nil), sampleShelf()
	m.choices.Currency = "EUR"
	s.do(m, "o")
	s.do(m, toErase...)
	write(m, wren)
	s.do(m, "enter")
	if m.Job().Currency != "EUR" || m.units() != (unit.System{}) {
		t.Errorf("the currency is %q", m.Job().Currency)
	}
}

// What is found out about a customer when nobody looks any more opens nothing.
func TestATraceThatComesLateOpensNothing(t *testing.T) {
	for _, leave := range [][]string{{"esc"}, {"esc", "r"}, {"f1"}, {"ctrl+a"}, {"esc", "6"}} {
		m, s := onSaved(t, toCustomers...)
		r := press(m, "ctrl+x")
		press(m, leave...)
		open := m.dialog
		answered(m, s, r)
		if m.dialog != open {
			t.Errorf("after %q it opens %T", leave, m.dialog)
		}
	}
}
