package dozen

import (
	"fmt"
	"regexp"
	"strings"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Read reads scale readings as people type and paste them, in the units given or with their
// own. A line is a piece: its weight and, of a shaft, spine and straightness behind it in
// either order. A line may also be several pieces: what is behind a weight is told by its
// size. Empty lines and heads without a number are left out. The error
// names the line; nothing is to be taken then.
func Read(text string, k Kind, units unit.System) ([]Piece, error) {
	var out []Piece
	text = strings.TrimPrefix(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\ufeff")
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if strings.TrimSpace(line) == "" || i == 0 && len(lines) > 1 && !strings.ContainsAny(line, "0123456789") {
			continue
		}
		pieces, err := readLine(line, k, units)
		if err != nil {
			if len(lines) > 1 {
				err = fmt.Errorf("line %d: %w", i+1, err)
			}
			return nil, err
		}
		out = append(out, pieces...)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("there is no weight in it")
	}
	if len(out) > MostPieces {
		return nil, fmt.Errorf("%d weights: at most %d pieces of a kind can be weighed", len(out), MostPieces)
	}
	return out, nil
}

// behindNumber is a unit that stands apart from its number.
var behindNumber = regexp.MustCompile(`(\d)[ \x{a0}]+([a-zA-Z"″]+)`)

// What a number behind a shaft's weight is, in inches or with its own unit: a spine, a
// straightness, which is far smaller, or the weight of the next shaft, which is far more.
const (
	leastSpine = 0.15
	mostSpine  = 3
)

func readLine(line string, k Kind, units unit.System) ([]Piece, error) {
	cells := strings.FieldsFunc(behindNumber.ReplaceAllString(strings.TrimSpace(line), "$1$2"), func(r rune) bool { return r == '\t' || r == ';' || r == ' ' || r == '\u00a0' })
	for i := range cells {
		cells[i] = strings.TrimRight(cells[i], ",")
	}
	if len(cells) == 0 {
		return nil, fmt.Errorf("there is no weight in it")
	}
	var out []Piece
	for i := 0; i < len(cells); i++ {
		var p Piece
		if err := p.set("weight_gr", cells[i], units); err != nil {
			return nil, err
		}
		if p.Weight <= 0 {
			return nil, fmt.Errorf("a piece must weigh more than nothing, got %q", cells[i])
		}
		for k == Shafts && i+1 < len(cells) {
			key := behind(cells[i+1])
			if key == "" || key == "spine_in" && p.Spine.Given || key == "straightness_in" && p.Straightness.Given {
				break
			}
			i++
			if err := p.set(key, cells[i], units); err != nil {
				return nil, err
			}
		}
		out = append(out, p)
	}
	return out, nil
}

// behind returns which key a cell behind a weight is for, empty for another weight.
func behind(cell string) string {
	value, err := unit.Parse(cell, unit.Inches)
	switch inches := unit.Length(value).In(unit.Inch); {
	case err != nil || inches > mostSpine:
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
