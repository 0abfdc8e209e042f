package bench

import (
	"fmt"
	"regexp"
	"strings"

	"foreshaft/engine/dozen"
	"foreshaft/engine/record"
	"foreshaft/ui/present"
)

// rejectChoice offers rules by which pieces of the list are left out.
func (d *dozenScreen) rejectChoice(m *Model) dialog {
	shown, b := d.shown, d.batch(m)
	c := &choice{title: fmt.Sprintf("Leave out %s by a rule", shown)}
	add := func(words string, do func(m *Model) Request) {
		c.options = append(c.options, choiceOption{words, do})
	}
	w := present.WeighingOf(m.units(), b, shown)
	outliers := "none"
	if far := w.Far(); len(far) > 0 {
		outliers = present.Numbers(far)
	}
	add("The outliers by weight: "+outliers, func(m *Model) Request {
		return d.leaveOut(m, "the outliers", func(_ *dozen.Piece, at int) bool { return w.Outlier(at) })
	})
	limit := func(words, key string) {
		add("By "+words+", outside limits that you type", func(m *Model) Request {
			m.open(d.limitPrompt(m, words, key))
			return nil
		})
	}
	limit("weight", "weight_gr")
	if shown == dozen.Shafts {
		limit("spine", "spine_in")
		limit("straightness", "straightness_in")
	}
	add(fmt.Sprintf("None: take all %s back", shown), func(m *Model) Request {
		if d.change(m, "take all back", func(b *dozen.Batch) {
			for i := range *b.Of(shown) {
				(*b.Of(shown))[i].LeftOut = false
			}
		}) {
			m.Say("All %s are taken back.", shown)
		} else {
			m.Say("None of the %s is left out.", shown)
		}
		return d.refresh(m)
	})
	return c
}

// leaveOut leaves pieces of the list out. Those in a build list that is being made stay.
func (d *dozenScreen) leaveOut(m *Model, which string, out func(p *dozen.Piece, at int) bool) Request {
	shown, held, stay := d.shown, 0, 0
	var gone []int
	for i, p := range *d.batch(m).Of(shown) {
		if !p.LeftOut && (!out(&p, i) || d.batch(m).Planned(shown, i)) {
			stay++
		}
	}
	if stay == 0 && len(*d.batch(m).Of(shown)) > 0 {
		m.Say("That would leave out all %s: nothing was changed.", shown)
		return nil
	}
	d.change(m, "leave out "+which, func(b *dozen.Batch) {
		list := *b.Of(shown)
		for i := range list {
			switch {
			case list[i].LeftOut || !out(&list[i], i):
			case b.Planned(shown, i):
				held++
			default:
				list[i].LeftOut = true
				gone = append(gone, i)
			}
		}
	})
	switch {
	case len(gone) > 0:
		m.Say("Left out by that: %s, no. %s.", counted(len(gone), shown.One()), present.Numbers(gone))
	default:
		m.Say("None of the %s is left out by that.", shown)
	}
	if held > 0 {
		m.sayAlso("%s in the build list that is being made stay.", capital(counted(held, shown.One())))
	}
	return d.refresh(m)
}

// twoLimits splits two limits.
var twoLimits = regexp.MustCompile(`\s+to\s+|\s*(?:–|…|\.\.)\s*|\s+`)

// example are limits as they are typed.
var example = map[string]string{"weight_gr": "231 233", "spine_in": ".345 .355", "straightness_in": "0 .003"}

// limitPrompt asks for the least and the most that a piece may have of something; one number
// is the most.
func (d *dozenScreen) limitPrompt(m *Model, words, key string) dialog {
	u := record.Only(&dozen.Piece{}, key).In(m.units()).Unit
	return newPrompt(m, prompt{
		title: fmt.Sprintf("Leave out every %s whose %s is outside: least and most (%s), such as %s; or the most alone", d.shown.One(), words, u.Symbol, example[key]),
		accept: func(m *Model, typed string) (Request, error) {
			ends := twoLimits.Split(strings.TrimSpace(typed), -1)
			if len(ends) > 2 || ends[0] == "" {
				return nil, fmt.Errorf("type two numbers, the least and the most, or the most alone")
			}
			limits := make([]float64, len(ends))
			for i := range ends {
				var p dozen.Piece
				f := record.Only(&p, key).In(m.units())
				if err := f.SetText(ends[i]); err != nil {
					return nil, err
				}
				limits[i], _ = f.Number()
			}
			if len(limits) == 2 && limits[0] > limits[1] {
				return nil, fmt.Errorf("the least comes first")
			}
			return d.leaveOut(m, "by "+words, func(p *dozen.Piece, _ int) bool {
				value, given := record.Only(p, key).Number()
				const rounding = 1e-9
				if !given {
					return false
				}
				return value > limits[len(limits)-1]*(1+rounding) || len(limits) == 2 && value < limits[0]*(1-rounding)
			}), nil
		},
	})
}
