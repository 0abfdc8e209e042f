package dozen

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Read reads scale readings as people type and paste them, in the units given or with their
// own. A line is a piece: its weight and, of a shaft, spine and straightness behind it in
// either order, unless a first line names the columns. A line may also be several pieces
// that weigh about the same. Empty lines are left out, and so is a first column that counts
// the lines. What could be read in two ways is refused. The error names the line; nothing is
// to be taken then.
func Read(text string, k Kind, units unit.System) ([]Piece, error) {
	text = strings.TrimPrefix(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\ufeff")
	var rows [][]string
	var lines []int // where each stands in the text
	for i, line := range strings.Split(text, "\n") {
		if cells := cellsOf(line); len(cells) > 0 {
			rows, lines = append(rows, cells), append(lines, i+1)
		}
	}
	var columns []string
	if len(rows) > 1 && !strings.ContainsAny(strings.Join(rows[0], ""), "0123456789") {
		columns = columnsOf(rows[0])
		rows, lines = rows[1:], lines[1:]
	}
	if columns == nil && counts(rows) {
		for i := range rows {
			rows[i] = rows[i][1:]
		}
	}
	var out []Piece
	for i, cells := range rows {
		var pieces []Piece
		var err error
		if columns != nil {
			pieces, err = readRow(cells, columns, units)
		} else {
			pieces, err = readLine(cells, k, units)
		}
		if err != nil {
			if len(rows) > 1 {
				err = fmt.Errorf("line %d: %w", lines[i], err)
			}
			return nil, err
		}
		out = append(out, pieces...)
	}
	if len(out) == 0 {
		return nil, errors.New("there is no weight in it")
	}
	if len(out) > MostPieces {
		return nil, fmt.Errorf("%d weights: at most %d pieces of a kind can be weighed", len(out), MostPieces)
	}
	return out, nil
}

// behindNumber is a unit that stands apart from its number.
var behindNumber = regexp.MustCompile(`(\d)[ \x{a0}]+([a-zA-Z"″]+)`)

// cellsOf parts a line at tabs and semicolons, which leave empty cells, and numbers at
// blanks.
func cellsOf(line string) []string {
	line = strings.Trim(behindNumber.ReplaceAllString(line, "$1$2"), " \u00a0\v\f")
	var cells []string
	for _, cell := range strings.Split(strings.ReplaceAll(line, ";", "\t"), "\t") {
		cell = strings.TrimSpace(cell)
		if cell == "" || !strings.ContainsAny(line, "0123456789") {
			cells = append(cells, cell)
			continue
		}
		cells = append(cells, strings.Fields(cell)...)
	}
	for len(cells) > 0 && cells[len(cells)-1] == "" {
		cells = cells[:len(cells)-1]
	}
	for i := range cells {
		cells[i] = strings.TrimRight(cells[i], ",")
	}
	return cells
}

// counts reports whether the first cells count the lines and have a weight behind them.
func counts(rows [][]string) bool {
	first := 0
	for i, cells := range rows {
		n, err := strconv.Atoi(strings.TrimSuffix(cells[0], "."))
		if i == 0 {
			first = n
		}
		if err != nil || n != first+i || len(cells) < 2 {
			return false
		}
	}
	return len(rows) > 1
}

// heads are words by which columns are known, as far as they are written.
var heads = map[string][]string{
	"weight_gr": {"weight", "mass", "gr", "g", "grain"}, "spine_in": {"spine", "deflection"}, "straightness_in": {"straight", "run-out", "runout", "run out", "tir"},
}

// columnsOf says which key each column is for, by the line that names them; nil where it
// does not name a column of weights.
func columnsOf(cells []string) []string {
	out := make([]string, len(cells))
	found := false
	for i, cell := range cells {
		cell = strings.ToLower(cell)
		for key, words := range heads {
			if slices.ContainsFunc(words, func(w string) bool { return cell == w || len(w) > 2 && strings.HasPrefix(cell, w) }) {
				out[i], found = key, found || key == "weight_gr"
			}
		}
	}
	if !found {
		return nil
	}
	return out
}

// readRow reads a line by its columns.
func readRow(cells, columns []string, units unit.System) ([]Piece, error) {
	var p Piece
	for i, cell := range cells {
		if i < len(columns) && columns[i] != "" && cell != "" {
			if err := p.set(columns[i], cell, units); err != nil {
				return nil, err
			}
		}
	}
	if p.Weight <= 0 {
		return nil, errors.New("it has no weight")
	}
	return []Piece{p}, nil
}

// What a number behind a shaft's weight is, in inches or with its own unit: a spine, a
// straightness, which is far smaller, or the weight of the next shaft, which is far more.
const (
	leastSpine = 0.15
	mostSpine  = 3
)

// mostRunOut is more than any shaft runs out that somebody would measure.
const mostRunOut = 0.1 * unit.Inch

// alike is by how much weights of one line may differ.
const alike = 1.25

func readLine(cells []string, k Kind, units unit.System) ([]Piece, error) {
	cells = slices.DeleteFunc(cells, func(c string) bool { return c == "" })
	var out []Piece
	for i := 0; i < len(cells); i++ {
		var p Piece
		if err := p.set("weight_gr", cells[i], units); err != nil {
			return nil, err
		}
		if p.Weight <= 0 {
			return nil, fmt.Errorf("a piece must weigh more than nothing, got %q", cells[i])
		}
		if len(out) > 0 {
			if ratio := float64(p.Weight / out[0].Weight); ratio > alike || ratio < 1/alike {
				return nil, unclear(cells[i], cells[0], k)
			}
			if k == Shafts && len(cells) <= 3 && wholeSpine(cells[i], cells[0]) {
				return nil, unclear(cells[i], cells[0], k)
			}
		}
		for k == Shafts && i+1 < len(cells) {
			key := behind(cells[i+1])
			if key == "spine_in" && p.Spine.Given { // in the unit of straightness it may be one
				key = "straightness_in"
			}
			if key == "" || key == "straightness_in" && p.Straightness.Given {
				break
			}
			i++
			if err := p.set(key, cells[i], units); err != nil {
				return nil, err
			}
			if key == "straightness_in" && p.Straightness.Value > mostRunOut {
				return nil, fmt.Errorf("%q behind %q is no straightness, which is at most %s: write one shaft a line", cells[i], cells[0], units.Bore(mostRunOut))
			}
		}
		out = append(out, p)
	}
	return out, nil
}

// wholeSpine reports whether a cell behind a weight may be a spine as it is called, in
// thousandths of an inch: a whole number where the weight has decimals.
func wholeSpine(cell, weight string) bool {
	n, err := strconv.Atoi(cell)
	return err == nil && n >= leastSpine*1000 && n%5 == 0 && strings.ContainsAny(weight, ".,")
}

func unclear(cell, weight string, k Kind) error {
	if k == Shafts {
		return fmt.Errorf("%q behind %q: another shaft, or a spine? Write a spine as .350, and other shafts a line each", cell, weight)
	}
	return fmt.Errorf("%q and %q are too far apart to be weights of two %s: write a line each", weight, cell, k)
}

// behind returns which key a cell behind a weight is for, empty for another weight.
func behind(cell string) string {
	value, err := unit.Parse(cell, unit.Inches)
	switch inches := unit.Length(value).In(unit.Inch); {
	case err != nil || math.IsNaN(inches) || inches > mostSpine:
		return ""
	case inches >= leastSpine:
		return "spine_in"
	}
	return "straightness_in"
}

func (p *Piece) set(key, text string, units unit.System) error {
	if err := record.Only(p, key).In(units).SetText(text); err != nil {
		return fmt.Errorf("%s: %w", strings.TrimSuffix(strings.TrimSuffix(key, "_gr"), "_in"), err)
	}
	return nil
}

// Text writes a piece as Read takes it: what a field that edits it begins with.
func (p Piece) Text(k Kind, units unit.System) string {
	cells := []string{record.Only(&p, "weight_gr").In(units).Text()}
	if k == Shafts {
		for _, f := range []record.Field{record.Only(&p, "spine_in").In(units), record.Only(&p, "straightness_in").In(units)} {
			if text := f.Text(); text != "" {
				cells = append(cells, text+f.Unit.Symbol)
			}
		}
	}
	return strings.Join(cells, " ")
}
