package store

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/text/encoding/charmap"

	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// The drawer as CSV: a line a part below a line of column names, which are the keys
// of the exchange format. A part fills the columns that its kind has.

// measuredColumn stands before the keys of what a scale said.
const measuredColumn = "measured_"

// partFields lists the values of a part with their columns: those of the part itself,
// of its piece, and of its weighing, all of which may be set. The piece must be held.
func partFields(p *part.Part, m *part.Measured) []column {
	out := make([]column, 0, 32) // about as many as a kind has
	add := func(prefix string, fields []record.Field) {
		for _, f := range fields {
			out = append(out, column{prefix + f.Key, f})
		}
	}
	add("", record.Fields(p))
	if piece, given := p.Piece(); given {
		add("", record.Fields(piece))
	}
	// A shaft is weighed by the inch, everything else by the piece.
	byInch := p.Kind == part.KindShaft
	add(measuredColumn, slices.DeleteFunc(record.Fields(m), func(f record.Field) bool {
		return f.Key != "count" && strings.HasSuffix(f.Key, "_per_in") != byInch
	}))
	return out
}

// column is a value by the name of its column.
type column struct {
	name string
	record.Field
}

// columns lists every column that any kind has, in the order of the file.
func columns() []string {
	var out []string
	weighed := []string{}
	for _, k := range part.Kinds {
		p := part.Part{Kind: k}
		p.Hold()
		for _, c := range partFields(&p, &part.Measured{}) {
			list := &out
			if strings.HasPrefix(c.name, measuredColumn) {
				list = &weighed
			}
			if !slices.Contains(*list, c.name) {
				*list = append(*list, c.name)
			}
		}
	}
	// What says which part it is comes first.
	first := []string{"id", "kind", "name"}
	out = slices.DeleteFunc(out, func(name string) bool { return slices.Contains(first, name) })
	return slices.Concat(first, out, weighed)
}

// WriteCSV writes parts as CSV, all their values, so that ReadCSV gives the same
// parts back. Numbers are in the unit of their column. A text that a spreadsheet
// would run as a formula gets an apostrophe in front, which ReadCSV takes off. With
// commas decimals have one, semicolons stand between the cells and a byte-order mark in
// front, as the spreadsheets of many countries expect.
func WriteCSV(parts []part.Part, commas bool) []byte {
	var buffer bytes.Buffer
	w := csv.NewWriter(&buffer)
	if commas {
		buffer.WriteString("\ufeff")
		w.Comma = ';'
	}
	names := columns()
	rows := [][]string{names}
	for _, p := range parts {
		row := make([]string, len(names))
		for _, c := range partFields(&p, &p.Measured.Value) {
			if strings.HasPrefix(c.name, measuredColumn) && !p.Measured.Given {
				continue
			}
			text := c.Text()
			switch {
			case c.Words == nil && !c.Numeric():
				text = guarded(text)
			case !strings.HasPrefix(c.name, measuredColumn) && !c.Optional() && !c.Need && (text == "no" || text == "0"):
				text = "" // what nobody entered
			case commas && c.Numeric():
				text = strings.Replace(text, ".", ",", 1)
			}
			row[slices.Index(names, c.name)] = text
		}
		rows = append(rows, row)
	}
	if err := w.WriteAll(rows); err != nil { // to memory, with a delimiter that is one
		panic("store: csv: " + err.Error())
	}
	return buffer.Bytes()
}

// formula are the signs with which a spreadsheet takes a cell for a formula.
const formula = "=+-@\t\r"

// guarded returns a text that no spreadsheet runs.
func guarded(text string) string {
	if text != "" && (strings.ContainsRune(formula, rune(text[0])) || unguarded(text) != text) {
		return "'" + text
	}
	return text
}

// unguarded takes back what guarded did.
func unguarded(text string) string {
	if bare, ok := strings.CutPrefix(text, "'"); ok && bare != "" && strings.ContainsRune(formula+"'", rune(bare[0])) {
		return bare
	}
	return text
}

// Row is one line of a CSV of parts: a part, or why it is none.
type Row struct {
	Line int    // as an editor counts, from 1
	Name string // as the line has it, also where it makes no part
	Part part.Part
	Err  error
	// Twin is the ID of a part of that kind and name that the drawer has, of a line
	// without an ID that makes a new one all the same.
	Twin string
	// columns are those of the file: what has none is not said of the part. filled are
	// those in which the line has something. lacks is why the line alone makes no part,
	// where it may be about one that the drawer has.
	columns []string
	filled  map[string]bool
	lacks   error
	commas  bool // decimals may have a comma
	// decimals says that some in the file have one: then a point may stand before thousands.
	decimals bool
}

// ReadCSV reads parts as WriteCSV and spreadsheets write them: with a byte-order mark,
// in the letters of Windows where they are no UTF-8, with semicolons or tabs between the
// cells, with decimal commas, with cells and lines that are empty at the end. Columns may
// stand in any order and be left out; a quantity may have its unit behind it. A line with
// the ID of a part of the drawer is of its kind where it says none. A line that does not
// make a part says why and leaves the others alone. The error is about the file as a
// whole.
func ReadCSV(data []byte, drawer []part.Part) ([]Row, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, errors.New("it is no text: save the list as “CSV UTF-8”")
	}
	if !utf8.Valid(data) {
		var err error
		if data, err = charmap.Windows1252.NewDecoder().Bytes(data); err != nil {
			return nil, errors.New("its letters cannot be read: save it as “CSV UTF-8”")
		}
	}
	kinds := make(map[string]part.Kind, len(drawer))
	for i := range drawer {
		kinds[drawer[i].ID] = drawer[i].Kind
	}
	head, rest, _ := bytes.Cut(data, []byte("\n"))
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord = delimiter(string(head)), -1
	above := 0
	if said := bytes.TrimSpace(head); len(said) == 5 && bytes.EqualFold(said[:4], []byte("sep=")) && strings.ContainsRune(",;\t", rune(said[4])) {
		r = csv.NewReader(bytes.NewReader(rest))
		r.Comma, r.FieldsPerRecord, above = rune(said[4]), -1, 1
	}
	commas := r.Comma != ',' && someDecimalComma.Match(data)
	names, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("it is empty: its first line has to name the columns, kind and name among them")
	}
	if err != nil {
		return nil, readable(err)
	}
	if names, err = header(names); err != nil {
		return nil, err
	}
	var rows []Row
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return together(rows), nil
		}
		if err != nil {
			return nil, readable(err)
		}
		if !slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" }) {
			continue
		}
		line, _ := r.FieldPos(0)
		row := Row{Line: line + above, columns: names, commas: r.Comma != ',', decimals: commas}
		row.read(cells, kinds)
		rows = append(rows, row)
	}
}

// readable says in a sentence of its own where a file is no CSV.
func readable(err error) error {
	var wrong *csv.ParseError
	if errors.As(err, &wrong) {
		if wrong.StartLine < wrong.Line {
			return fmt.Errorf("lines %d to %d are no CSV: %v", wrong.StartLine, wrong.Line, wrong.Err)
		}
		return fmt.Errorf("line %d is no CSV: %v", wrong.Line, wrong.Err)
	}
	return err
}

// delimiter returns what stands between the cells of a line of column names.
func delimiter(head string) rune {
	best, most := ',', 0
	for _, r := range ",;\t" {
		if n := strings.Count(head, string(r)); n > most {
			best, most = r, n
		}
	}
	return best
}

// header checks the names of the columns. Those at the end may be empty.
func header(names []string) ([]string, error) {
	known := columns()
	out := make([]string, len(names))
	for i, name := range names {
		name = strings.ToLower(strings.TrimSpace(label.Clean(name)))
		switch {
		case name == "":
			if slices.ContainsFunc(names[i:], func(n string) bool { return strings.TrimSpace(n) != "" }) {
				return nil, fmt.Errorf("line 1: column %d has no name", i+1)
			}
		case !slices.Contains(known, name):
			return nil, fmt.Errorf("line 1: there is no column %q%s; an exported drawer shows the columns there are", label.Clean(names[i]), meant(name, known))
		case slices.Contains(out[:i], name):
			return nil, fmt.Errorf("line 1: the column %q is there twice", name)
		}
		out[i] = name
	}
	if !slices.Contains(out, "kind") && !slices.Contains(out, "id") {
		return nil, fmt.Errorf("line 1: the column kind is missing; it says what a part is: %s", strings.Join(kindNames(), ", "))
	}
	return out, nil
}

// meant names the column that was probably meant.
func meant(name string, known []string) string {
	best := ""
	for _, k := range known {
		if len(name) > 2 && strings.HasPrefix(k, strings.ReplaceAll(name, " ", "_")) && (best == "" || len(k) < len(best)) {
			best = k
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf(" (perhaps %s)", best)
}

func kindNames() []string {
	var out []string
	for _, k := range part.Kinds {
		out = append(out, string(k))
	}
	return out
}

// read makes a part of the cells of a line.
func (r *Row) read(cells []string, kinds map[string]part.Kind) {
	refuse := func(format string, args ...any) { r.Err = fmt.Errorf(format, args...) }
	cell := map[string]string{}
	r.filled = map[string]bool{}
	for i, text := range cells {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		if i >= len(r.columns) || r.columns[i] == "" {
			refuse("%q stands behind the last column", label.Clean(text))
			return
		}
		cell[r.columns[i]], r.filled[r.columns[i]] = text, true
	}
	p := &r.Part
	p.ID, p.Kind = label.Clean(unguarded(cell["id"])), part.Kind(strings.ToLower(cell["kind"]))
	r.Name = label.Clean(unguarded(cell["name"]))
	if known, there := kinds[p.ID]; there && p.Kind == "" {
		p.Kind = known
	}
	if p.Kind == "" && p.ID != "" && !slices.Contains(r.columns, "kind") {
		refuse("id: the drawer has no part %q, and without a kind it makes no new one", p.ID)
		return
	}
	if !slices.Contains(part.Kinds, p.Kind) {
		refuse("kind: must be one of %s, got %q", strings.Join(kindNames(), ", "), label.Clean(cell["kind"]))
		return
	}
	p.Hold()
	for _, c := range partFields(p, &p.Measured.Value) {
		text, given := cell[c.name]
		delete(cell, c.name)
		switch {
		case c.name == "kind" || c.name == "id":
			continue
		case !given && c.Need:
			lacks := fmt.Errorf("%s is missing: %s needs it", c.name, p.Kind.A())
			if p.ID == "" || slices.Contains(r.columns, c.name) {
				r.Err = lacks
				return
			}
			r.lacks = lacks
			continue
		case !given:
			continue
		case c.Words == nil && !c.Numeric():
			text = label.Clean(unguarded(text))
		case r.decimals && c.Numeric() && thousands.MatchString(text):
			refuse("%s: %q may be meant as a thousand and more or as a fraction, since this file has decimal commas: write it without the point, or with a comma", c.name, label.Clean(text))
			return
		case r.commas && c.Numeric() && decimalComma.MatchString(text):
			text = strings.Replace(text, ",", ".", 1) // never a thousand's
		}
		if err := c.SetText(text); err != nil {
			refuse("%s: %w", c.name, err)
			return
		}
		if strings.HasPrefix(c.name, measuredColumn) {
			p.Measured.Given = true
		}
	}
	for _, name := range r.columns { // the first in the order of the file
		if _, more := cell[name]; more {
			instead := ""
			if name == "length_in" && p.Kind == part.KindShaft {
				instead = ", or is stock_length_in meant?"
			}
			refuse("%s: no %s has such a value; leave it empty%s", name, p.Kind, instead)
			return
		}
	}
	if p.Name() == "" && (p.ID == "" || slices.Contains(r.columns, "name")) {
		refuse("name is missing: lists are filtered by it")
		return
	}
	if err := weightless(p); err != nil {
		r.lacks = err
	}
	if p.ID == "" {
		r.Err = r.lacks
	}
}

// someDecimalComma is a cell with a decimal comma, thousands a number with a point where
// those end.
var (
	someDecimalComma = regexp.MustCompile(`(?:^|[;\t\n"])-?\d+,\d+(?:$|[;\t\r\n"])`)
	thousands        = regexp.MustCompile(`^[1-9]\d{0,2}(\.\d{3})+$`)
)

// decimalComma is a number with a comma between its whole and its parts.
var decimalComma = regexp.MustCompile(`^-?\d+,\d+(\s*[^\d\s,.].*)?$`)

// weighedColumn is the column of what a scale said of a piece, or of an inch of a shaft.
func weighedColumn(k part.Kind) string {
	if k == part.KindShaft {
		return measuredColumn + "weight_gr_per_in"
	}
	return measuredColumn + "weight_gr"
}

// weightless returns an error for a shaft without a weight, and for a part that is said
// to be weighed without what the scale said.
func weightless(p *part.Part) error {
	if s := &p.Shaft.Value; p.Kind == part.KindShaft && !s.WeightPerInch.Given && !s.TubeWeight.Given {
		return errors.New("weight_gr_per_in is missing: a shaft needs it, or tube_weight_gr")
	}
	if w := p.Measured.Value; p.Measured.Given && w.Weight <= 0 && w.WeightPerInch <= 0 {
		return fmt.Errorf("%s is missing: what else a scale said needs it", weighedColumn(p.Kind))
	}
	return nil
}

// over returns a part of the drawer with what the line says of it, and what that
// changes. An empty cell takes a value away; without its weight a part is not weighed
// any more. The error says why that makes no part.
func (r *Row) over(p part.Part) (part.Part, []ValueChange, error) {
	said := r.Part
	fields, is := partFields(&p, &p.Measured.Value), partFields(&said, &said.Measured.Value)
	texts := func() []string {
		out := make([]string, len(fields))
		for i, c := range fields {
			if p.Measured.Given || !strings.HasPrefix(c.name, measuredColumn) {
				out[i] = c.Text()
			}
		}
		return out
	}
	before := texts()
	for i, c := range fields {
		switch {
		case !slices.Contains(r.columns, c.name) || c.name == "kind":
			continue
		case !r.filled[c.name]:
			c.Clear()
			continue
		}
		if err := c.SetText(is[i].Text()); err != nil { // it was set to just that
			panic("store: csv: " + c.name + ": " + err.Error())
		}
		if strings.HasPrefix(c.name, measuredColumn) {
			p.Measured.Given = true
		}
	}
	if weight := weighedColumn(p.Kind); slices.Contains(r.columns, weight) && !r.filled[weight] {
		p.Measured = unit.Optional[part.Measured]{}
	}
	var changes []ValueChange
	for i, after := range texts() {
		if after != before[i] {
			changes = append(changes, ValueChange{fields[i].name, before[i], after})
		}
	}
	return p, changes, weightless(&p)
}

// together refuses parts of which two have one ID.
func together(rows []Row) []Row {
	at := map[string]int{}
	for i := range rows {
		id := rows[i].Part.ID
		if id == "" {
			continue
		}
		if first, taken := at[id]; taken && rows[i].Err == nil {
			rows[i].Err = fmt.Errorf("id: line %d has %q already", rows[first].Line, id)
			continue
		}
		at[id] = i
	}
	return rows
}

// Import is what taking in a CSV would do to a drawer.
type Import struct {
	New     []Row
	Same    int
	Changed []Change
	Refused []Row
	parts   []part.Part // to be put in; a new one without an ID still needs it
}

// Change is a part of the drawer that a line of the CSV changes, value by value.
type Change struct {
	Line   int
	ID     string
	Name   string
	Values []ValueChange
}

// ValueChange is one value of a part by its column, before and after.
type ValueChange struct{ Column, Before, After string }

// PlanImport compares what was read with a drawer. A line with the ID of a part in the
// drawer changes that part, in the columns that the file has. One without an ID is the
// same as a part that has all the values it says, whatever else that has, and else a new
// one: nothing is overwritten by its name.
func PlanImport(rows []Row, drawer []part.Part) *Import {
	plan := &Import{}
	byID, byName, lines := map[string]int{}, map[string][]int{}, map[string]int{}
	called := func(p *part.Part) string { return string(p.Kind) + "\x00" + strings.ToLower(p.Name()) }
	for i := range drawer {
		byID[drawer[i].ID] = i
		byName[called(&drawer[i])] = append(byName[called(&drawer[i])], i)
	}
	for _, r := range rows {
		known := false
		if r.Err == nil && r.Part.ID == "" {
			for _, i := range byName[called(&r.Part)] {
				if known = known || r.saysOnly(drawer[i]); r.Twin == "" {
					r.Twin = drawer[i].ID
				}
			}
			same := alike(r.Part)
			if first := lines[same]; first > 0 {
				r.Err = fmt.Errorf("it is the same part as line %d", first)
			} else {
				lines[same] = r.Line
			}
		}
		at, there := byID[r.Part.ID]
		switch {
		case r.Err != nil:
			plan.Refused = append(plan.Refused, r)
			continue
		case known:
			plan.Same++
			continue
		case there && r.Part.Kind != drawer[at].Kind:
			r.Err = fmt.Errorf("id: %q is a %s in the drawer, not a %s", r.Part.ID, drawer[at].Kind, r.Part.Kind)
			plan.Refused = append(plan.Refused, r)
			continue
		case !there && r.lacks != nil:
			r.Err = r.lacks
			plan.Refused = append(plan.Refused, r)
			continue
		case there:
			var values []ValueChange
			if r.Part, values, r.Err = r.over(drawer[at]); r.Err != nil {
				plan.Refused = append(plan.Refused, r)
				continue
			}
			if len(values) == 0 {
				plan.Same++
				continue
			}
			plan.Changed = append(plan.Changed, Change{r.Line, drawer[at].ID, drawer[at].Name(), values})
		default:
			plan.New = append(plan.New, r)
		}
		plan.parts = append(plan.parts, r.Part)
	}
	return plan
}

// saysOnly reports whether a part has every value that the line says.
func (r *Row) saysOnly(p part.Part) bool {
	said := r.Part
	fields, is := partFields(&p, &p.Measured.Value), partFields(&said, &said.Measured.Value)
	for i, c := range fields {
		if r.filled[c.name] && c.name != "kind" && c.Text() != is[i].Text() {
			return false
		}
	}
	return true
}

// alike writes a part without what does not belong to it but to the drawer, so that
// two that have all their values in common are the same text.
func alike(p part.Part) string {
	p.ID, p.Sample = "", false
	return string(record.Encode(p))
}

// Apply puts what an Import would change into the drawer, all of it or nothing. New
// parts without an ID get one. Where lines were refused nothing is done, and the error
// says so; otherwise errors are those of PutParts.
func (w *Workbook) Apply(plan *Import) error {
	if n := len(plan.Refused); n > 0 {
		return &InvalidError{"The import", fmt.Errorf("%d of its lines are refused, so nothing was taken in", n)}
	}
	parts, taken := slices.Clone(plan.parts), map[string]bool{}
	for _, p := range parts {
		taken[p.ID] = true
	}
	return w.update(func(tx *bolt.Tx) (err error) {
		for i := range parts {
			if parts[i].ID != "" {
				continue
			}
			if parts[i].ID, err = newID(tx, taken); err != nil {
				return err
			}
		}
		return putParts(tx, parts)
	})
}
