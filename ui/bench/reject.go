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
	var far []int
	for _, i := range w.Spread.Outliers {
		far = append(far, w.Places[i])
	}
	if len(far) > 0 {
		add("The outliers by weight: "+present.Numbers(far), func(m *Model) Request {
			return d.leaveOut(m, "the outliers", func(p *dozen.Piece, at int) bool { return w.Outlier(at) })
		})
	}
	limit := func(words, key string) {
		add(words+" outside limits that you type", func(m *Model) Request {
			m.open(d.limitPrompt(m, words, key))
			return nil
		})
	}
	if w.Spread.Count > 0 {
		limit("By weight:", "weight_gr")
	}
	for i := range *b.Of(shown) {
		if (*b.Of(shown))[i].Spine.Given {
			limit("By spine:", "spine_in")
			break
		}
	}
	for i := range *b.Of(shown) {
		if (*b.Of(shown))[i].Straightness.Given {
			limit("By straightness:", "straightness_in")
			break
		}
	}
	for i := range *b.Of(shown) {
		if (*b.Of(shown))[i].LeftOut {
			add(fmt.Sprintf("None: take all %s back", shown), func(m *Model) Request {
				if d.change(m, "take all back", func(b *dozen.Batch) {
					for i := range *b.Of(shown) {
						(*b.Of(shown))[i].LeftOut = false
					}
				}) {
					m.Say("All %s are taken back.", shown)
				}
				return d.refresh(m)
			})
			break
		}
	}
	if len(c.options) == 0 {
		add("Nothing is weighed yet: back to the list", func(*Model) Request { return nil })
	}
	return c
}

// leaveOut leaves pieces of the list out. Those in a build list that is being made stay.
func (d *dozenScreen) leaveOut(m *Model, which string, out func(p *dozen.Piece, at int) bool) Request {
	shown, held := d.shown, 0
	var gone []int
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
		m.Say("Left out: %s %s.", shown, present.Numbers(gone))
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

// limitPrompt asks for the least and the most that a piece may have of something; one number
// is the most.
func (d *dozenScreen) limitPrompt(m *Model, words, key string) dialog {
	words = strings.ToLower(strings.TrimSuffix(strings.TrimPrefix(words, "By "), ":"))
	u := record.Only(&dozen.Piece{}, key).In(m.units()).Unit
	return newPrompt(m, prompt{
		title: fmt.Sprintf("Leave out every %s whose %s is outside: least and most (%s), or the most alone", d.shown.One(), words, u.Symbol),
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
