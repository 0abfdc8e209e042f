package fitting

import (
	"fmt"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Favour is what someone would rather have of their arrows.
type Favour string

// What there is to favour. An empty Favour is Even.
const (
	Forgiving Favour = "forgiving of range errors"
	Even      Favour = "even"
	Weight    Favour = "weight on target"
)

// Sort is a sort of head.
type Sort string

// The sorts of head. An empty Sort is a field point.
const (
	FieldPoint     Sort = "field point"
	FixedBroadhead Sort = "fixed broadhead"
	Expandable     Sort = "expandable"
)

// Answers is what a short talk at the counter comes to. The job tags let a form
// show it.
type Answers struct {
	Purpose Purpose `job:"purpose" need:"yes"`
	Favour  Favour  `job:"favour" one:"forgiving of range errors,even,weight on target"`
	Head    Sort    `job:"head" one:"field point,fixed broadhead,expandable"`
	Lighted bool    `job:"lighted_nock"`
	// Budget is what a dozen may cost, in the job's currency; 0 is no budget. Parts
	// without a price are left out where there is one.
	Budget float64 `job:"budget" range:"0,1000000"`
	// Growing is for an archer who still grows: the cut end then clears the rest by
	// 2 in at full draw instead of 1 in (common practice).
	Growing bool `job:"still_growing"`
	// InStock leaves out parts of which there are none left. A part that does not say
	// how many there are is taken as there.
	InStock bool `job:"in_stock"`
}

func (a *Answers) check() error {
	if err := a.Purpose.check("purpose."); err != nil {
		return err
	}
	refuse := func(key string, got any, want string) error {
		return &record.Error{Path: key, Message: fmt.Sprintf("must be %s, got %v", want, got)}
	}
	if _, known := thirds[a.Favour]; !known {
		return refuse("favour", a.Favour, "forgiving of range errors, even or weight on target")
	}
	switch a.Head {
	case "", FieldPoint, FixedBroadhead, Expandable:
	default:
		return refuse("head", a.Head, "field point, fixed broadhead or expandable")
	}
	if !(a.Budget >= 0) {
		return refuse("budget", a.Budget, "0 or more")
	}
	return nil
}

// heads returns the sort of head asked for.
func (a *Answers) heads() Sort {
	if a.Head == "" {
		return FieldPoint
	}
	return a.Head
}

// SortOf returns what sort a head is.
func SortOf(h *part.Head) Sort {
	switch {
	case h.Expandable:
		return Expandable
	case h.Blades > 0:
		return FixedBroadhead
	}
	return FieldPoint
}

// left is what of the parts nobody looked at, and why.
type left struct{ unsaid, priceless int }

// pieces returns those of the parts that the answers allow.
// Each shaft is as it comes, not cut. The error says which kind there is nothing of.
func (a *Answers) pieces(parts []part.Part, lengths []unit.Length) (job.Drawer, left, error) {
	var kept []part.Part
	var out left
	offered, wanted, priced := map[part.Kind]int{}, map[part.Kind]int{}, map[part.Kind]int{}
	for _, p := range parts {
		if p.Retired || !p.Valid() {
			continue
		}
		offered[p.Kind]++
		if !a.wants(&p) {
			continue
		}
		wanted[p.Kind]++
		if p.Kind == part.KindShaft {
			// A new tube is not the one that was weighed.
			p.Shaft.Value.TubeWeight, p.Shaft.Value.TubeWeightU = unit.Optional[unit.Mass]{}, unit.Optional[unit.Mass]{}
			if w := p.Weighed(); !w.Shaft.Value.WeightPerInch.Given || !p.Shaft.Value.Spine.Given {
				out.unsaid++
				continue
			}
		}
		if a.Budget > 0 && !p.Trade().Price.Given {
			out.priceless++
			continue
		}
		priced[p.Kind]++
		kept = append(kept, p)
	}
	where := "in the drawer"
	if a.InStock {
		where = "in stock"
	}
	for _, k := range []part.Kind{part.KindShaft, part.KindNock, part.KindHead, part.KindVanes, part.KindInsert} {
		what := map[part.Kind]string{part.KindShaft: "shaft", part.KindNock: "plain nock", part.KindHead: string(a.heads()), part.KindVanes: "set of vanes", part.KindInsert: "insert"}[k]
		if k == part.KindNock && a.Lighted {
			what = "lighted nock"
		}
		switch {
		case priced[k] > 0, k == part.KindInsert && offered[k] == 0: // heads may be made to do without
		case wanted[k] == 0:
			return job.Drawer{}, out, fmt.Errorf("there is no %s %s: add one to the drawer, or answer otherwise", what, where)
		case k == part.KindShaft && out.unsaid == wanted[k]:
			return job.Drawer{}, out, fmt.Errorf("no shaft %s says both its spine and its weight by the inch: enter them, they are what a shaft is chosen by", where)
		default:
			return job.Drawer{}, out, fmt.Errorf("no %s %s has a price: enter one, or ask for no budget", what, where)
		}
	}
	return job.DrawerOf(kept, lengths), out, nil
}

// wants reports whether a part is of the sort asked for, and there.
func (a *Answers) wants(p *part.Part) bool {
	count := 1.0
	if p.Kind == part.KindVanes {
		if p.Vanes.Value.Count == 0 {
			return false
		}
		count = float64(p.Vanes.Value.Count)
	}
	if stock := p.Trade().Stock; a.InStock && stock.Given && stock.Value < count {
		return false
	}
	switch p.Kind {
	case part.KindNock:
		return p.Nock.Value.Lighted == a.Lighted
	case part.KindHead:
		return SortOf(&p.Head.Value) == a.heads()
	}
	return true
}

// afford leaves out the pieces that even with the cheapest of everything else cost
// more than the budget allows, and reports whether something of all kinds is left.
func (a *Answers) afford(d *job.Drawer) bool {
	if a.Budget == 0 {
		return true
	}
	shafts, nocks, heads := cheapest(d.Shafts, shaftCost), cheapest(d.Nocks, nockCost), cheapest(d.Heads, headCost)
	vanes, inserts, collars := cheapest(d.Vanes, vanesCost), cheapest(d.Inserts, insertCost), cheapest(d.Collars, collarCost)
	spare := a.Budget*(1+slack)/12 - (shafts + nocks + heads + vanes + inserts + collars)
	d.Shafts, d.Nocks, d.Heads = within(d.Shafts, shaftCost, spare+shafts), within(d.Nocks, nockCost, spare+nocks), within(d.Heads, headCost, spare+heads)
	d.Vanes, d.Inserts, d.Collars = within(d.Vanes, vanesCost, spare+vanes), within(d.Inserts, insertCost, spare+inserts), within(d.Collars, collarCost, spare+collars)
	return len(d.Shafts) > 0
}

func shaftCost(p *part.Shaft) float64 { return p.Price.Value }
func nockCost(p *part.Nock) float64   { return p.Price.Value }
func headCost(p *part.Head) float64   { return p.Price.Value }
func vanesCost(p *unit.Optional[part.Vanes]) float64 {
	return p.Value.Price.Value * float64(p.Value.Count)
}
func insertCost(p *unit.Optional[part.Insert]) float64 { return p.Value.Price.Value }
func collarCost(p *unit.Optional[part.Collar]) float64 { return p.Value.Price.Value }

func cheapest[T any](list []T, cost func(*T) float64) float64 {
	out := 0.0
	for i := range list {
		if c := cost(&list[i]); i == 0 || c < out {
			out = c
		}
	}
	return out
}

func within[T any](list []T, cost func(*T) float64, most float64) []T {
	var out []T
	for i := range list {
		if cost(&list[i]) <= most {
			out = append(out, list[i])
		}
	}
	return out
}
