package present

import (
	"fmt"
	"strings"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// Import says what taking in a CSV of parts would do: how many parts of which sort, then
// each line that is refused, that changes a part, or that is a new one.
func Import(plan *store.Import) []string {
	out := []string{fmt.Sprintf("%d new, %d changed, %d as they are, %d refused.", len(plan.New), len(plan.Changed), plan.Same, len(plan.Refused))}
	for _, r := range plan.Refused {
		of := ""
		if r.Name != "" {
			of = " (" + r.Name + ")"
		}
		out = append(out, fmt.Sprintf("line %d%s is refused: %v", r.Line, of, r.Err))
	}
	for _, c := range plan.Changed {
		var values []string
		for _, v := range c.Values {
			values = append(values, fmt.Sprintf("%s %s → %s", v.Column, orNone(v.Before), orNone(v.After)))
		}
		out = append(out, fmt.Sprintf("line %d changes %s (%s): %s", c.Line, c.Name, c.ID, strings.Join(values, ", ")))
	}
	for _, r := range plan.New {
		weight := Weight(unit.System{}, r.Part.StatedWeight())
		if s := r.Part.Shaft.Value; s.WeightPerInch.Given {
			weight = Quantity(unit.System{}, float64(s.WeightPerInch.Value), unit.GrainsPerInch)
		}
		words := fmt.Sprintf("line %d is new: %s %s, %s", r.Line, r.Part.Kind, r.Part.Name(), weight)
		switch head := &r.Part.Head.Value; {
		case r.Part.Kind == part.KindVanes:
			words = fmt.Sprintf("line %d is new: %d × vanes %s, %s each", r.Line, r.Part.Vanes.Value.Count, r.Part.Name(), weight)
		case r.Part.Kind == part.KindHead && head.Blades == 0:
			words += ", no blades"
		case r.Part.Kind == part.KindHead:
			words += fmt.Sprintf(", %d blades", head.Blades)
		}
		if price := r.Part.Trade().Price; price.Given {
			words += fmt.Sprintf(", price %.2f", price.Value)
		}
		if r.Twin != "" {
			words += fmt.Sprintf(" (one of that name is here: give the line the id %s to change that one instead)", r.Twin)
		}
		out = append(out, words)
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
		out = append(out, counted(e.Copies, "backup")+" of the workbook: written anew without it too")
	}
	for _, place := range e.Alike {
		out = append(out, "! "+place+" has a part of the name in it, which stays: look whether it is theirs")
	}
	for _, path := range e.Left {
		out = append(out, "! "+path+" still has the name and cannot be written anew: delete it yourself")
	}
	return out
}
