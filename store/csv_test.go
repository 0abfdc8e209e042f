package store

import (
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// drawPart draws a part with any of its values given, names that a spreadsheet would
// run or tear apart among them.
func drawPart(t *rapid.T, id int) part.Part {
	p := part.Part{Kind: rapid.SampledFrom(part.Kinds).Draw(t, "kind")}
	p.Hold()
	p.Measured.Given = rapid.Bool().Draw(t, "measured")
	for _, c := range partFields(&p, &p.Measured.Value) {
		if c.name == "kind" || strings.HasPrefix(c.name, measuredColumn) && !p.Measured.Given {
			continue
		}
		text := ""
		switch {
		case c.name == "weight_gr_per_in": // which a shaft needs
			text = "8.125"
		case c.Optional() && rapid.Bool().Draw(t, "no "+c.name):
			continue
		case c.name == "id":
			text = fmt.Sprintf("%spart-%d", rapid.SampledFrom([]string{"", "=", "'"}).Draw(t, "id"), id)
		case c.Words != nil:
			text = rapid.SampledFrom(c.Words).Draw(t, c.name)
		case c.Numeric():
			text = fmt.Sprint(rapid.SampledFrom([]string{"0", "0.25", "1", "2", "3", "0.1", "8", "0.204"}).Draw(t, c.name))
		case c.name == "name":
			text = label.Clean(fmt.Sprint(rapid.SampledFrom([]string{"=", "+", "'", "", "a;b,c \"x\" "}).Draw(t, "name"), id))
		default:
			text = label.Clean(rapid.SampledFrom([]string{"", "plain", "=1+1", "+5", "-3", "@SUM(A1)", "'quoted", "'=x", "''", "a;b,c", "say \"x\"", "größer ½", "5 mm .300", "no", "0"}).Draw(t, c.name))
		}
		if strings.HasPrefix(c.name, measuredColumn+"weight_gr") && text == "0" {
			text = "8.5" // what was weighed has a weight
		}
		if err := c.SetText(text); err != nil { // out of that value's range
			continue
		}
	}
	if p.Measured.Given && p.Measured.Value.Weight <= 0 && p.Measured.Value.WeightPerInch <= 0 {
		p.Measured = unit.Optional[part.Measured]{}
	}
	return p
}

// What is written is read back as the same parts.
func TestCSVIsReadBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var parts []part.Part
		for i := range rapid.IntRange(0, 12).Draw(t, "parts") {
			parts = append(parts, drawPart(t, i))
		}
		data := WriteCSV(parts, rapid.Bool().Draw(t, "decimal commas"))
		rows, err := ReadCSV(data, nil)
		if err != nil || len(rows) != len(parts) {
			t.Fatalf("%v, %d lines of %d parts\n%s", err, len(rows), len(parts), data)
		}
		for i, r := range rows {
			if r.Err != nil || string(record.Encode(r.Part)) != string(record.Encode(parts[i])) {
				t.Fatalf("line %d: %v\n%s\nwas\n%s", r.Line, r.Err, record.Encode(r.Part), record.Encode(parts[i]))
			}
		}
		if plan := PlanImport(rows, parts); len(plan.New)+len(plan.Changed)+len(plan.Refused) > 0 || plan.Same != len(parts) {
			t.Fatalf("taken in again it would change something: %+v", plan)
		}
		// No cell begins with what a spreadsheet runs, but for numbers.
		text := strings.TrimPrefix(string(data), "\ufeff")
		r := csv.NewReader(strings.NewReader(text))
		if text != string(data) {
			r.Comma = ';'
		}
		cells, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range cells {
			for i, c := range row {
				if c != "" && strings.ContainsRune("=+-@\t\r", rune(c[0])) && !strings.HasSuffix(cells[0][i], "_in") {
					t.Fatalf("%s: %q", cells[0][i], c)
				}
			}
		}
	})
}

func TestCSVOfTheSamples(t *testing.T) {
	parts := SampleParts()
	rows, err := ReadCSV(WriteCSV(parts, false), nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		if r.Err != nil || r.Line != i+2 || string(record.Encode(r.Part)) != string(record.Encode(parts[i])) {
			t.Errorf("line %d: %v", r.Line, r.Err)
		}
	}
}

// A price list as spreadsheets save it, in the ways they differ.
func TestCSVAsSpreadsheetsWriteIt(t *testing.T) {
	plain := "kind,name,weight_gr,length_in,price,stock\nhead,Field,100,1.05,1.2,24\nhead,\"Field, long\",125,1.2,1.4,12\n"
	want := func(t *testing.T, text string) {
		t.Helper()
		rows, err := ReadCSV([]byte(text), nil)
		if err != nil || len(rows) != 2 || rows[0].Err != nil || rows[1].Err != nil {
			t.Fatalf("%v %+v", err, rows)
		}
		for i, w := range []struct {
			name                       string
			weight, length, price, own float64
		}{{"Field", 100, 1.05, 1.2, 24}, {"Field, long", 125, 1.2, 1.4, 12}} {
			h := rows[i].Part.Head.Value
			near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }
			if h.Name != w.name || !near(h.Weight.In(unit.Grain), w.weight) || !near(h.Length.Value.In(unit.Inch), w.length) || h.Price.Value != w.price || h.Stock.Value != w.own || rows[i].Line != i+2 {
				t.Errorf("line %d is %+v", rows[i].Line, h)
			}
		}
	}
	semicolons := "kind;name;weight_gr;length_in;price;stock\nhead;Field;100;1,05;1,2;24\nhead;Field, long;125;1,2;1,4;12\n"
	for name, text := range map[string]string{
		"plain": plain, "byte-order mark": "\ufeff" + plain, "line ends of DOS": strings.ReplaceAll(plain, "\n", "\r\n"),
		"semicolons and decimal commas": semicolons, "tabs": strings.ReplaceAll(semicolons, ";", "\t"),
		"empty columns at the end": "kind,name,weight_gr,length_in,price,stock,,\nhead,Field,100,1.05,1.2,24,,\nhead,\"Field, long\",125,1.2,1.4,12,,\n",
		"empty lines":              "\ufeff" + strings.Replace(plain, "24\n", "24\n,,,,,\n", 1)[:0] + plain + ",,,,,\n\n",
		"capitals and spaces":      strings.Replace(plain, "kind,name,weight_gr", "Kind, NAME ,Weight_gr", 1),
		"units in the cells":       "kind,name,weight_gr,length_in,price,stock\nhead,Field,100 gr,26.67 mm,1.2,24\nhead,\"Field, long\",8.09986375 g,1.2 in,1.4,12\n",
		"other order":              "stock,price,name,kind,length_in,weight_gr\n24,1.2,Field,head,1.05,100\n12,1.4,\"Field, long\",head,1.2,125\n",
		"quotes everywhere":        "\"kind\",\"name\",\"weight_gr\",\"length_in\",\"price\",\"stock\"\n\"head\",\"Field\",\"100\",\"1.05\",\"1.2\",\"24\"\n\"head\",\"Field, long\",\"125\",\"1.2\",\"1.4\",\"12\"\n",
	} {
		t.Run(name, func(t *testing.T) { want(t, text) })
	}
}

func TestCSVThatIsRefused(t *testing.T) {
	for text, says := range map[string]string{
		"":                                  "it is empty",
		"name,weight_gr\nField,100\n":       "the column kind is missing",
		"kind,name,mass\nhead,a,1\n":        `there is no column "mass"; an exported drawer shows`,
		"kind,name,name\nhead,a,b\n":        `the column "name" is there twice`,
		"kind,,name\nhead,,b\n":             "column 2 has no name",
		"kind,name\nhead,\"a\n":             "line 2 is no CSV",
		"k\x00i\x00n\x00d\x00":              "it is no text",
		"id,weight\npart-1,100\n":           `there is no column "weight" (perhaps weight_gr)`,
		"sep=;\nkind;name;mass\nhead;a;1\n": `there is no column "mass"`,
	} {
		if rows, err := ReadCSV([]byte(text), nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q gives %v and %d lines, want %q", text, err, len(rows), says)
		}
	}
	lines := []struct{ text, says string }{
		{"knob,a,100,,,", `kind: must be one of shaft, insert, collar, head, nock, vanes, wrap, got "knob"`},
		{"head,a,,,,", "weight_gr is missing: a head needs it"},
		{"head,a,heavy,,,", "weight_gr: "},
		{"head,a,5000,,,", "weight_gr: must be 0 to 1000 gr, got 5000 gr"},
		{"head,a,100,0.204,,", "depth_in: no head has such a value"},
		{"shaft,a,,,,", "weight_gr_per_in is missing: a shaft needs it, or tube_weight_gr"},
		{"insert,a,50,1,,x", "lighted: no insert has such a value"},
		{"nock,a,9,,,perhaps", "lighted: type yes or no"},
		{"nock,a,9,,,yes,more", `"more" stands behind the last column`},
	}
	text := "kind,name,weight_gr,depth_in,price,lighted\n"
	for _, l := range lines {
		text += l.text + "\n"
	}
	text += "head,good,100,,,\n"
	rows, err := ReadCSV([]byte(text), nil)
	if err != nil || len(rows) != len(lines)+1 {
		t.Fatalf("%v, %d lines", err, len(rows))
	}
	for i, l := range lines {
		if r := rows[i]; r.Err == nil || r.Line != i+2 || !strings.Contains(r.Err.Error(), l.says) {
			t.Errorf("line %d, %q, gives %v, want %q", r.Line, l.text, r.Err, l.says)
		}
	}
	if rows[len(lines)].Err != nil {
		t.Errorf("the good line gives %v", rows[len(lines)].Err)
	}
	rows, _ = ReadCSV([]byte("id,kind,name,weight_gr\nx,head,a,100\nx,head,b,100\n"), nil)
	if rows[0].Err != nil || rows[1].Err == nil || !strings.Contains(rows[1].Err.Error(), `line 2 has "x" already`) {
		t.Errorf("two of one ID: %v, %v", rows[0].Err, rows[1].Err)
	}
}

func TestAnImportSaysWhatItChanges(t *testing.T) {
	drawer := SampleParts()
	changed := drawer[3]
	changed.Shaft.Value.Price = unit.Some(99.5)
	changed.Measured.Given = false
	other := drawer[0]
	other.ID = drawer[20].ID // of another kind
	fresh := drawer[1]
	fresh.ID, fresh.Shaft.Value.Name = "", "another name"
	same := drawer[2]
	same.ID = ""
	rows, err := ReadCSV(WriteCSV([]part.Part{changed, other, fresh, same, drawer[5]}, false), nil)
	if err != nil {
		t.Fatal(err)
	}
	plan := PlanImport(rows, drawer)
	if len(plan.New) != 1 || plan.Same != 2 || len(plan.Changed) != 1 || len(plan.Refused) != 1 {
		t.Fatalf("%+v", plan)
	}
	c := plan.Changed[0]
	if c.Line != 2 || c.Name != drawer[3].Name() || !slices.Contains(c.Values, ValueChange{"price", fmt.Sprint(drawer[3].Shaft.Value.Price.Value), "99.5"}) ||
		!slices.Contains(c.Values, ValueChange{"measured_count", "24", ""}) || len(c.Values) != 4 { // and what the scale said, with its spread
		t.Errorf("%+v", c)
	}
	if r := plan.Refused[0]; r.Line != 3 || !strings.Contains(r.Err.Error(), "in the drawer, not a shaft") {
		t.Errorf("%+v", r)
	}
}

// What a file has no column for stays as it is; an empty cell empties.
func TestAnImportChangesOnlyItsColumns(t *testing.T) {
	drawer := SampleParts()
	for i, p := range drawer {
		rows, err := ReadCSV([]byte("id;kind;price;note\n"+p.ID+";"+string(p.Kind)+";7,25;\n"), nil)
		if err != nil || rows[0].Err != nil {
			t.Fatalf("%v, %v", err, rows[0].Err)
		}
		plan := PlanImport(rows, drawer)
		if len(plan.Changed) != 1 || len(plan.Changed[0].Values) != 2 {
			t.Fatalf("%s: %+v", p.ID, plan)
		}
		got := plan.parts[0]
		for _, c := range partFields(&got, &got.Measured.Value) {
			switch c.name {
			case "price":
				if c.Text() != "7.25" {
					t.Errorf("%s: the price is %s", p.ID, c.Text())
				}
			case "note":
				if c.Text() != "" {
					t.Errorf("%s: the note is %s", p.ID, c.Text())
				}
			}
		}
		got.Shaft.Value.Trade, got.Insert.Value.Trade, got.Collar.Value.Trade, got.Head.Value.Trade, got.Nock.Value.Trade, got.Vanes.Value.Trade, got.Wrap.Value.Trade =
			p.Shaft.Value.Trade, p.Insert.Value.Trade, p.Collar.Value.Trade, p.Head.Value.Trade, p.Nock.Value.Trade, p.Vanes.Value.Trade, p.Wrap.Value.Trade
		if string(record.Encode(got)) != string(record.Encode(drawer[i])) {
			t.Errorf("%s: more than price and note changed", p.ID)
		}
	}
	// A new part cannot do without what it needs.
	rows, _ := ReadCSV([]byte("id,kind,price\nnobody,head,7\nnobody2,shaft,7\n"), nil)
	plan := PlanImport(rows, drawer)
	if len(plan.Refused) != 2 || !strings.Contains(plan.Refused[0].Err.Error(), "weight_gr is missing: a head needs it") {
		t.Errorf("%+v", plan)
	}
}

// All lines or none; new parts get IDs of their own.
func TestAnImportIsAppliedWholeOrNotAtAll(t *testing.T) {
	w := openNew(t)
	before, err := w.Parts()
	if err != nil {
		t.Fatal(err)
	}
	text := "kind,name,weight_gr,stock\nhead,New one,111,3\nhead,New two,112,\n"
	take := func(text string) error {
		rows, err := ReadCSV([]byte(text), nil)
		if err != nil {
			t.Fatal(err)
		}
		return w.Apply(PlanImport(rows, before))
	}
	if err := take(text + "head,bad,,\n"); err == nil || !strings.Contains(err.Error(), "1 of its lines are refused") {
		t.Errorf("%v", err)
	}
	if after, _ := w.Parts(); len(after) != len(before) {
		t.Fatalf("%d parts after a refused import, %d before", len(after), len(before))
	}
	if err := take(text); err != nil {
		t.Fatal(err)
	}
	after, _ := w.Parts()
	if n := len(before); len(after) != n+2 || after[n].Name() != "New one" || after[n].ID == "" || after[n].ID == after[n+1].ID || after[n].Head.Value.Stock.Value != 3 {
		t.Errorf("%d parts after, %d before", len(after), len(before))
	}
}

// A line of its own ID and lines that still need one: all become parts.
func TestNewPartsDoNotTakeTheIDsOfOthers(t *testing.T) {
	w := openNew(t)
	before, _ := w.Parts()
	rows, err := ReadCSV([]byte("id,kind,name,weight_gr\n,head,B,101\npart-1,head,A,100\npart-2,head,D,103\n,head,C,102\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Apply(PlanImport(rows, before)); err != nil {
		t.Fatal(err)
	}
	after, _ := w.Parts()
	got := map[string]string{}
	for _, p := range after[len(before):] {
		got[p.Name()] = p.ID
	}
	if len(after) != len(before)+4 || got["A"] != "part-1" || got["D"] != "part-2" || got["B"] == "" || got["C"] == "" || got["B"] == got["C"] {
		t.Errorf("%v", got)
	}
}

func TestAnImportMergesWithoutHarm(t *testing.T) {
	drawer := SampleParts()
	head := drawer[slices.IndexFunc(drawer, func(p part.Part) bool { return p.ID == "sample-head-field-point-100-gr" })]
	head.Measured = unit.Some(part.Measured{Weight: 101 * unit.Grain, WeightU: 0.2 * unit.Grain, Count: 9})
	shaft := drawer[0]
	drawer = []part.Part{head, shaft}
	take := func(text string) (part.Part, error) {
		rows, err := ReadCSV([]byte(text), nil)
		if err != nil {
			t.Fatal(err)
		}
		plan := PlanImport(rows, drawer)
		if len(plan.Refused) > 0 {
			return part.Part{}, plan.Refused[0].Err
		}
		if len(plan.parts) == 0 {
			return head, nil
		}
		return plan.parts[0], nil
	}
	// An empty word is as it comes; an empty count leaves the weight as it is.
	if p, err := take("id,kind,shape\n" + head.ID + ",head,\n"); err != nil || p.Head.Value.Shape != "" {
		t.Errorf("%v %q", err, p.Head.Value.Shape)
	}
	if p, err := take("id,kind,measured_count\n" + head.ID + ",head,\n"); err != nil || !p.Measured.Given || p.Measured.Value.Weight != head.Measured.Value.Weight || p.Measured.Value.Count != 0 {
		t.Errorf("%v %+v", err, p.Measured)
	}
	if p, err := take("id,kind,measured_weight_gr,measured_count\n" + head.ID + ",head,,9\n"); err != nil || p.Measured.Given {
		t.Errorf("%v %+v", err, p.Measured)
	}
	for text, says := range map[string]string{
		"kind,name,weight_gr,measured_count\nhead,a,100,5\n":  "measured_weight_gr is missing",
		"id,kind,weight_gr_per_in\n" + shaft.ID + ",shaft,\n": "weight_gr_per_in is missing",
		"kind,weight_gr\nhead,100\n":                          "name is missing",
		"kind,name,weight_gr\nhead,a,100\nhead,a,100\n":       "the same part as line 2",
		"id,kind,measured_count\n" + shaft.ID + ",shaft,-3\n": "measured_count",
	} {
		if _, err := take(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q gives %v, want %q", text, err, says)
		}
	}
	// Decimals with three places are no thousands where cells end with semicolons.
	if p, err := take("kind;name;weight_gr\nhead;a;10,125\n"); err != nil || math.Abs(p.Head.Value.Weight.In(unit.Grain)-10.125) > 1e-9 {
		t.Errorf("%v %v", err, p.Head.Value.Weight.In(unit.Grain))
	}
}

// headLines is a CSV of new heads.
func headLines(n int) []byte {
	out := []byte("kind,name,weight_gr,length_in,thread,price,stock,note\n")
	for i := range n {
		out = fmt.Appendf(out, "head,Head %d,%d,1.1,8-32,1.25,48,from a price list\n", i, 75+i%125)
	}
	return out
}

func planOfHeads(n int) (*Import, error) {
	rows, err := ReadCSV(headLines(n), nil)
	return PlanImport(rows, nil), err
}

// BenchmarkImport is the preview of 10,000 lines, half of them about parts that a
// drawer of as many has, and taking in as many new ones. The preview's budget is 1 s.
func BenchmarkImport(b *testing.B) {
	const lines = 10_000
	w := openNew(b)
	plan, err := planOfHeads(lines)
	if err != nil {
		b.Fatal(err)
	}
	if err := w.Apply(plan); err != nil {
		b.Fatal(err)
	}
	drawer, err := w.Parts()
	if err != nil {
		b.Fatal(err)
	}
	changed := slices.Clone(drawer)
	for i := range changed {
		if i%2 == 0 {
			changed[i].Head.Value.Trade.Price = unit.Some(2.5)
		}
	}
	data := WriteCSV(changed, false)
	b.Run("preview", func(b *testing.B) {
		for b.Loop() {
			rows, err := ReadCSV(data, nil)
			if err != nil {
				b.Fatal(err)
			}
			if plan := PlanImport(rows, drawer); len(plan.Changed) < lines/2 || len(plan.Refused) > 0 {
				b.Fatalf("%d changed, %d refused", len(plan.Changed), len(plan.Refused))
			}
		}
	})
	b.Run("taken in", func(b *testing.B) {
		for b.Loop() {
			w := openNew(b)
			if err := w.Apply(plan); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// Lists as offices write them: in the letters of Windows, with a line that names the
// separator, without a kind where the part is known, with points before thousands.
func TestCSVOfAnOffice(t *testing.T) {
	drawer := SampleParts()
	at := slices.IndexFunc(drawer, func(p part.Part) bool { return p.Kind == part.KindHead })
	id := drawer[at].ID
	rows, err := ReadCSV([]byte("sep=;\r\nkind;name;weight_gr;price\r\nhead;Gr\xf6\xdfe;100;1,5\r\n"), nil)
	if err != nil || len(rows) != 1 || rows[0].Err != nil || rows[0].Part.Name() != "Größe" || rows[0].Line != 3 || rows[0].Part.Trade().Price.Value != 1.5 {
		t.Errorf("%+v, %v", rows, err)
	}
	rows, err = ReadCSV([]byte("id,price\n"+id+",9.5\nnobody,9.5\n"), drawer)
	if err != nil || len(rows) != 2 || rows[1].Err == nil || !strings.Contains(rows[1].Err.Error(), `the drawer has no part "nobody"`) {
		t.Fatalf("%+v, %v", rows, err)
	}
	if plan := PlanImport(rows[:1], drawer); len(plan.Changed) != 1 || plan.Changed[0].ID != id || len(plan.Changed[0].Values) != 1 || plan.Changed[0].Values[0].After != "9.5" {
		t.Errorf("%+v", plan)
	}
	rows, err = ReadCSV([]byte("kind;name;weight_gr;price\nhead;a;100;1.250\nhead;b;100;1,5\nhead;c;100;0.125\n"), nil)
	if err != nil || rows[0].Err == nil || !strings.Contains(rows[0].Err.Error(), `price: "1.250" may be meant as a thousand`) || rows[2].Err != nil {
		t.Errorf("%+v, %v", rows, err)
	}
	// Without a decimal comma in the file a point is one.
	if rows, err = ReadCSV([]byte("kind;name;weight_gr;price\nhead;a;100;1.250\n"), nil); err != nil || rows[0].Err != nil || rows[0].Part.Trade().Price.Value != 1.25 {
		t.Errorf("%+v, %v", rows, err)
	}
}

// A list that comes again is as it is, also where its parts were weighed and counted
// meanwhile; another price is a new part, and the plan says which one is meant perhaps.
func TestAListThatComesAgain(t *testing.T) {
	const list = "kind,name,weight_gr,price\nhead,Listed,100,1.5\nhead,Other,110,1.5\n"
	rows, err := ReadCSV([]byte(list), nil)
	if err != nil {
		t.Fatal(err)
	}
	drawer := []part.Part{rows[0].Part, rows[1].Part}
	drawer[0].ID, drawer[1].ID = "part-1", "part-2"
	drawer[0].Measured = unit.Some(part.Measured{Weight: 101 * unit.Grain, Count: 6})
	drawer[0].Head.Value.Stock, drawer[0].Retired = unit.Some(6.0), true
	again, err := ReadCSV([]byte(list), drawer)
	if err != nil {
		t.Fatal(err)
	}
	if plan := PlanImport(again, drawer); plan.Same != 2 || len(plan.New)+len(plan.Changed)+len(plan.Refused) > 0 {
		t.Errorf("%+v", plan)
	}
	dearer, err := ReadCSV([]byte(strings.Replace(list, "1.5", "1.6", 1)), drawer)
	if err != nil {
		t.Fatal(err)
	}
	if plan := PlanImport(dearer, drawer); plan.Same != 1 || len(plan.New) != 1 || plan.New[0].Twin != "part-1" {
		t.Errorf("%+v", plan)
	}
}
