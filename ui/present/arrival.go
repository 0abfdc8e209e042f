package present

import (
	"fmt"
	"strings"

	"foreshaft/engine/unit"
	"foreshaft/store"
)

// Import says what taking in a CSV of parts would do: how many parts of which sort, then
// each line that is refused, that changes a part, or that is a new one.
func Import(plan *store.Import) []string {
	out := []string{fmt.Sprintf("%d new, %d changed, %d as they are, %d refused.", len(plan.New), len(plan.Changed), plan.Same, len(plan.Refused))}
	for _, r := range plan.Refused {
		out = append(out, fmt.Sprintf("line %d is refused: %v", r.Line, r.Err))
	}
	for _, c := range plan.Changed {
		var values []string
		for _, v := range c.Values {
			values = append(values, fmt.Sprintf("%s %s → %s", v.Column, orNone(v.Before), orNone(v.After)))
		}
		out = append(out, fmt.Sprintf("line %d changes %s: %s", c.Line, c.Name, strings.Join(values, ", ")))
	}
	for _, r := range plan.New {
		weight := Weight(unit.System{}, r.Part.StatedWeight())
		if s := r.Part.Shaft.Value; s.WeightPerInch.Given {
			weight = Quantity(unit.System{}, float64(s.WeightPerInch.Value), unit.GrainsPerInch)
		}
		out = append(out, fmt.Sprintf("line %d is new: %s %s, %s", r.Line, r.Part.Kind, r.Part.Name(), weight))
	}
	return out
}

// Arrivals says what becomes of things that are brought in: how many come, then each that
// is not there already just as it is.
func Arrivals(list []store.Arrival) []string {
	come, same, parts := 0, 0, 0
	var lines []string
	for _, a := range list {
		name := fmt.Sprintf("%s “%s”", a.What, a.Name)
		switch a.Outcome {
		case store.Same:
			same++
			continue
		case store.Added:
			if a.What == "part" { // there may be hundreds, and each is in the drawer
				parts++
				break
			}
			lines = append(lines, name+" is new"+revisions(a))
		case store.Beside:
			if a.What == "part" {
				lines = append(lines, name+" comes beside the one that has its ID: they differ")
				break
			}
			lines = append(lines, fmt.Sprintf("%s comes as “%s”%s: what is here under its name differs, and stays", name, a.As, revisions(a)))
		case store.Newer:
			lines = append(lines, fmt.Sprintf("%s gets %s that came after what is here", name, counted(a.Revisions, "revision")))
		case store.Noted:
			lines = append(lines, name+" is here: what is noted there is added to the note")
		case store.Updated:
			lines = append(lines, name+" (sample) takes the values it has there")
		}
		come++
	}
	if parts > 0 {
		lines = append([]string{counted(parts, "new part")}, lines...)
	}
	return append([]string{fmt.Sprintf("%s, %d there already as they are. Nothing here is overwritten.", counted(come, "thing")+" to take in", same)}, lines...)
}

func revisions(a store.Arrival) string {
	if a.Revisions < 2 {
		return ""
	}
	return fmt.Sprintf(", with %d revisions", a.Revisions)
}

// counted writes how many of something there are.
func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// Erasing says what erasing a customer takes away.
func Erasing(e *store.Erased) []string {
	var out []string
	if !e.Known {
		out = append(out, fmt.Sprintf("There is no customer “%s” (any more); the name is looked for all the same.", e.Customer))
	}
	for _, d := range e.Deleted {
		out = append(out, fmt.Sprintf("the %s “%s” goes, with %s", d.Kind, d.Name, counted(d.Revisions, "revision")))
	}
	for _, place := range e.Renamed {
		out = append(out, fmt.Sprintf("%s: the name becomes %s", place, store.ErasedName))
	}
	if e.Copies > 0 {
		out = append(out, counted(e.Copies, "backup")+" of the workbook: what has the name in it goes there too")
	}
	for _, path := range e.Left {
		out = append(out, "! "+path+" still has the name and cannot be written anew: delete it yourself")
	}
	return out
}
