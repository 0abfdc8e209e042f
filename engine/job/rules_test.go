package job_test

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"foreshaft/engine/job"
)

// full reads the job file in which every key of the format is given.
func full(t *testing.T) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/jobs/full.json")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

var steps = regexp.MustCompile(`[^.\[\]]+`)

// with returns the full job with the JSON value at a path replaced, or with
// that key left out when the value is empty.
func with(t *testing.T, path, value string) []byte {
	t.Helper()
	var document any
	if err := json.Unmarshal(full(t), &document); err != nil {
		t.Fatal(err)
	}
	document = edit(document, steps.FindAllString(path, -1), value)
	out, err := json.Marshal(document)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func edit(in any, path []string, value string) any {
	if len(path) == 0 {
		return json.RawMessage(value)
	}
	switch in := in.(type) {
	case []any:
		i, err := strconv.Atoi(path[0])
		if err != nil {
			panic(err)
		}
		if i == len(in) {
			in = append(in, nil)
		}
		in[i] = edit(in[i], path[1:], value)
		return in
	case map[string]any:
		if len(path) == 1 && value == "" {
			delete(in, path[0])
			return in
		}
		in[path[0]] = edit(in[path[0]], path[1:], value)
		return in
	}
	panic(fmt.Sprintf("no %v in %v", path, in))
}

func TestFullJobDecodes(t *testing.T) {
	j, err := job.Decode(full(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Builds) != 1 || len(j.Sight.Value.Marks) != 2 || len(j.Bow.Value.Readings) != 1 || !j.Bow.Value.Rating.Given {
		t.Errorf("lists: %+v", j)
	}
	d, s := j.Drawer.Value, j.Search.Value
	if len(d.Lengths) != 2 || len(d.Shafts) != 2 || len(d.Heads) != 2 || len(d.Inserts) != 2 || d.Inserts[0].Given || !d.Inserts[1].Given {
		t.Errorf("drawer: %+v", d)
	}
	if len(s.Where) != 5 || s.Sort != "foc" || !s.Descending || s.Limit.Or(0) != 20 {
		t.Errorf("search: %+v", s)
	}
	again, err := job.Decode(j.Encode())
	if err != nil || !again.Equal(j) {
		t.Errorf("written and read again it differs: %v", err)
	}
}

// TestFullJobHoldsEveryKey keeps the example in step with the format: what the
// format can hold and the example leaves out would go untested.
func TestFullJobHoldsEveryKey(t *testing.T) {
	var document map[string]any
	if err := json.Unmarshal(full(t), &document); err != nil {
		t.Fatal(err)
	}
	for _, missing := range missingKeys(document) {
		t.Error("testdata/jobs/full.json does not have " + missing)
	}
}

// Every range of the format, just inside and just outside.
func TestRanges(t *testing.T) {
	const crossbow = ": crossbow bolts have their own weight, length and nock; not covered"
	cases := []struct{ path, low, high, below, above, reason string }{
		{"builds[0].head.weight_gr", "0", "1000", "-5", "1000.1", ""},
		{"builds[0].shaft.weight_gr_per_in", "1", "30", "0.99", "30.01", ""},
		{"builds[0].shaft.weight_u_gr_per_in", "0", "30", "-0.1", "31", ""},
		{"builds[0].shaft.tube_weight_gr", "0", "1000", "-1", "1001", ""},
		{"builds[0].shaft.spine_in", "0.05", "3", "0.049", "3.001", ""},
		{"builds[0].shaft.outer_diameter_in", "0.1", "0.6", "0.09", "0.61", ""},
		{"builds[0].shaft.inner_diameter_in", "0.1", "0.6", "0", "1", ""},
		{"builds[0].length_in", "0", "60", "-0.1", "60.1", ""},
		{"builds[0].length_u_in", "0", "60", "-0.1", "60.1", ""},
		{"builds[0].nock.throat_in", "0", "60", "-0.1", "61", ""},
		{"builds[0].nock.fits_inner_in", "0.1", "0.6", "0.099", "0.601", ""},
		{"builds[0].vanes.count", "0", "8", "-1", "9", ""},
		{"builds[0].vanes.rear_in", "0", "60", "-1", "61", ""},
		{"builds[0].wrap.length_in", "0", "60", "-1", "61", ""},
		{"builds[0].insert.depth_in", "0", "60", "-1", "61", ""},
		{"builds[0].insert.proud_in", "0", "60", "-1", "61", ""},
		{"builds[0].collar.weight_gr", "0", "1000", "-1", "1001", ""},
		{"builds[0].collar.fits_outer_in", "0.1", "0.6", "0", "0.7", ""},
		{"builds[0].head.balance_in", "-60", "60", "-61", "61", ""},
		{"builds[0].head.blades", "0", "8", "-1", "9", ""},
		{"builds[0].extras[0].balance_in", "0", "60", "-1", "61", ""},
		{"builds[0].extras[0].weight_u_gr", "0", "1000", "-1", "1001", ""},
		{"builds[0].drag_coefficient", "0", "10", "-0.1", "10.1", ""},
		{"bow.peak_weight_lb", "5", "100", "4.9", "100.5", crossbow},
		{"bow.draw_length_in", "12", "36", "11.9", "36.1", crossbow},
		{"bow.brace_height_in", "0", "60", "-1", "61", ""},
		{"bow.minimum_arrow_gr", "0", "1000", "-1", "1001", ""},
		{"bow.maximum_peak_weight_lb", "5", "100", "4", "101", ""},
		{"bow.readings[0].speed_fps", "30", "600", "29.9", "600.1", ""},
		{"bow.readings[0].arrow_gr", "0", "1000", "-1", "1001", ""},
		{"bow.readings[0].sd_fps", "0", "600", "-1", "601", ""},
		{"bow.readings[0].peak_weight_lb", "5", "100", "4", "101", ""},
		{"bow.rating.speed_fps", "30", "600", "0", "601", ""},
		{"bow.rating.draw_length_in", "12", "36", "11", "37", ""},
		{"air.temperature_c", "-40", "55", "-40.1", "55.1", ""},
		{"air.pressure_hpa", "500", "1100", "499", "1101", ""},
		{"air.humidity_pct", "0", "100", "-1", "101", ""},
		{"air.altitude_m", "-400", "6000", "-401", "6001", ""},
		{"limits.max_speed_fps", "0", "600", "-1", "601", ""},
		{"limits.min_weight_gr", "0", "1000", "-1", "1001", ""},
		{"sight.peep_to_pin_in", "0", "60", "-1", "61", ""},
		{"slope_deg", "-60", "60", "-60.1", "60.1", ""},
		{"crosswind_mph", "-60", "60", "-61", "61", ""},
		{"target_radius_in", "0", "60", "-1", "61", ""},
		{"distances_yd[0]", "0.5", "200", "", "200.1", ""},
		{"sight.marks[1].distance_yd", "0.5", "200", "", "201", ""},
	}
	for _, c := range cases {
		t.Run(c.path, func(t *testing.T) {
			for _, inside := range []string{c.low, c.high} {
				if _, err := job.Decode(with(t, c.path, inside)); err != nil {
					t.Errorf("%s is refused: %v", inside, err)
				}
			}
			low := c.low
			if low == "0.5" {
				low = "0" // distances: the text names the range of the key
			}
			// The reason stands only on the side where a crossbow lies.
			reasons := [2]string{"", c.reason}
			if strings.Contains(c.path, "draw_length") {
				reasons = [2]string{c.reason, ""}
			}
			for side, outside := range []string{c.below, c.above} {
				if outside != "" {
					refused(t, with(t, c.path, outside), fmt.Sprintf("%s: must be %s to %s, got %s%s", c.path, low, c.high, outside, reasons[side]))
				}
			}
		})
	}
}

func refused(t *testing.T, data []byte, want string) {
	t.Helper()
	_, err := job.Decode(data)
	if err == nil {
		t.Fatalf("accepted, want %s", want)
	}
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
}

func TestRules(t *testing.T) {
	many := make([]string, 65)
	for i := range many {
		many[i] = fmt.Sprintf(`{"name":"b%d","length_in":29,"shaft":{"weight_gr_per_in":8},"nock":{"weight_gr":9},"head":{"weight_gr":100}}`, i)
	}
	list := func(n int) string { return "[" + strings.Join(many[:n], ",") + "]" }
	const missing = ": is missing"
	cases := []struct{ name, path, value, want string }{
		{"unknown key", "builds[0].point", "{}", `builds[0].point: is not a key of the format`},
		{"wrong letter case", "Bow", "{}", `Bow: is not a key of the format: did you mean "bow"?`},
		{"null", "bow.name", "null", `bow.name: must not be null: leave it out instead`},
		{"null in a list of heads", "drawer.heads[0]", "null", `drawer.heads[0]: must not be null: leave it out instead`},
		{"null distance", "distances_yd[0]", "null", `distances_yd[0]: must not be null: leave it out instead`},
		{"wrong type", "builds[0].name", "7", `builds[0].name: must be a text in quotes, got 7`},
		{"builds as an object", "builds", "{}", `builds: must be a list in brackets, got {}`},
		{"another format", "format", `"foreshaft-job/2"`, `format: must be "foreshaft-job/1", got "foreshaft-job/2"`},
		{"no format", "format", "", "format" + missing},
		{"no builds key", "builds", "", "builds" + missing},
		{"no builds", "builds", "[]", `builds: must have 1 to 64 builds, got none`},
		{"too many builds", "builds", list(65), `builds: must have 1 to 64 builds, got 65`},
		{"repeated name", "builds", `[` + many[0] + `,` + many[1] + `,` + many[0] + `]`, `builds[2].name: "b0" is already the name of builds[0]`},
		{"names alike once cleaned", "builds", `[` + many[0] + `,` + strings.Replace(many[0], "b0", ` b\u200b0 `, 1) + `]`, `builds[1].name: "b0" is already the name of builds[0]`},
		{"no name", "builds[0].name", "", "builds[0].name" + missing},
		{"empty name", "builds[0].name", `" "`, "builds[0].name: must not be empty"},
		{"no length", "builds[0].length_in", "", "builds[0].length_in" + missing},
		{"no shaft", "builds[0].shaft", "", "builds[0].shaft" + missing},
		{"no nock", "builds[0].nock", "", "builds[0].nock" + missing},
		{"no head", "builds[0].head", "", "builds[0].head" + missing},
		{"shaft without a weight", "builds[0].shaft", `{"spine_in":0.3}`, "builds[0].shaft.weight_gr_per_in: is missing: a shaft needs weight_gr_per_in or tube_weight_gr"},
		{"shaft in the drawer without a weight", "drawer.shafts[1]", `{}`, "drawer.shafts[1].weight_gr_per_in: is missing: a shaft needs weight_gr_per_in or tube_weight_gr"},
		{"nock without a weight", "builds[0].nock.weight_gr", "", "builds[0].nock.weight_gr" + missing},
		{"head without a weight", "builds[0].head.weight_gr", "", "builds[0].head.weight_gr" + missing},
		{"vanes without a weight", "builds[0].vanes.weight_gr", "", "builds[0].vanes.weight_gr" + missing},
		{"vanes without a count", "builds[0].vanes.count", "", "builds[0].vanes.count" + missing},
		{"vanes without a length", "builds[0].vanes.length_in", "", "builds[0].vanes.length_in" + missing},
		{"vanes without a place", "builds[0].vanes.rear_in", "", "builds[0].vanes.rear_in" + missing},
		{"half a vane", "builds[0].vanes.count", "2.5", "builds[0].vanes.count: must be a whole number, got 2.5"},
		{"wrap without a weight", "builds[0].wrap.weight_gr", "", "builds[0].wrap.weight_gr" + missing},
		{"wrap without a length", "builds[0].wrap.length_in", "", "builds[0].wrap.length_in" + missing},
		{"collar without a weight", "builds[0].collar.weight_gr", "", "builds[0].collar.weight_gr" + missing},
		{"collar without a length", "builds[0].collar.length_in", "", "builds[0].collar.length_in" + missing},
		{"insert without a weight", "builds[0].insert.weight_gr", "", "builds[0].insert.weight_gr" + missing},
		{"insert without a depth", "builds[0].insert.depth_in", "", "builds[0].insert.depth_in" + missing},
		{"extra without a weight", "builds[0].extras[0].weight_gr", "", "builds[0].extras[0].weight_gr" + missing},
		{"extra without a place", "builds[0].extras[0].balance_in", "", "builds[0].extras[0].balance_in" + missing},
		{"insert in the drawer without a depth", "drawer.inserts[1].depth_in", "", "drawer.inserts[1].depth_in" + missing},
		{"reading without a speed", "bow.readings[0].speed_fps", "", "bow.readings[0].speed_fps" + missing},
		{"reading without an arrow", "bow.readings[0].arrow_gr", "", "bow.readings[0].arrow_gr" + missing},
		{"mark without a distance", "sight.marks[0].distance_yd", "", "sight.marks[0].distance_yd" + missing},
		{"unknown kind", "bow.kind", `"crossbow"`, `bow.kind: must be compound, recurve or longbow, got "crossbow"`},
		{"unknown release", "bow.release", `"trigger"`, `bow.release: must be aid or fingers, got "trigger"`},
		{"unknown shape", "builds[0].head.shape", `"round"`, `builds[0].head.shape: must be ogive, cone or blunt, got "round"`},
		{"baseline beyond the builds", "baseline", "1", "baseline: must be the index of a build, 0 to 0, got 1"},
		{"baseline below", "baseline", "-1", "baseline: must be 0 to 63, got -1"},
		{"distance of nothing", "distances_yd[2]", "0", "distances_yd[2]: must be more than 0 and at most 200, got 0"},
		{"distance below nothing", "distances_yd[2]", "-5", "distances_yd[2]: must be 0 to 200, got -5"},
		{"distance twice", "distances_yd[4]", "20", "distances_yd[4]: is the same distance as distances_yd[0]"},
		{"mark at nothing", "sight.marks[1].distance_yd", "0", "sight.marks[1].distance_yd: must be more than 0 and at most 200, got 0"},
		{"search for no figure", "search.where.weight", `{"min":1}`, "search.where.weight: is not a figure"},
		{"search without a distance", "search.where.drop", `{"min":1}`, "search.where.drop.distance_yd: is missing: this figure has one value for each distance"},
		{"search with a distance too many", "search.where.foc", `{"distance_yd":20}`, "search.where.foc.distance_yd: does not belong here: this figure has one value for the whole build"},
		{"search at nothing", "search.where.drop", `{"distance_yd":0}`, "search.where.drop.distance_yd: must be more than 0 and at most 200, got 0"},
		{"search window upside down", "search.where.foc", `{"min":15,"max":13}`, "search.where.foc: has a min of 15 above its max of 13"},
		{"sort by no figure", "search.sort", `"weight"`, `search.sort: must be a figure of the whole build, got "weight"`},
		{"sort by a figure at a distance", "search.sort", `"drop"`, `search.sort: must be a figure of the whole build, got "drop"`},
		{"limit below", "search.limit", "-1", "search.limit: must be 0 to 1000000, got -1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) { refused(t, with(t, c.path, c.value), c.want) })
	}
	t.Run("64 builds are allowed", func(t *testing.T) {
		if _, err := job.Decode(with(t, "builds", list(64))); err != nil {
			t.Error(err)
		}
	})
	t.Run("repeated key", func(t *testing.T) {
		refused(t, []byte(`{"format":"foreshaft-job/1","builds":[],"builds":[]}`), "builds: is given twice")
	})
	t.Run("a bench may have no build yet", func(t *testing.T) {
		if _, err := job.DecodeBench(with(t, "builds", "[]")); err != nil {
			t.Error(err)
		}
	})
}

// What the format says may be left out.
func TestOptionalKeys(t *testing.T) {
	for _, path := range []string{"bow", "sight", "air", "limits", "currency", "baseline", "distances_yd", "target_radius_in", "crosswind_mph", "slope_deg",
		"drawer", "search", "bow.kind", "bow.release", "bow.peak_weight_lb", "bow.readings", "bow.rating", "bow.readings[0].sd_fps",
		"builds[0].vanes", "builds[0].wrap", "builds[0].insert", "builds[0].collar", "builds[0].extras", "builds[0].drag_coefficient",
		"builds[0].shaft.tube_weight_gr", "builds[0].shaft.weight_gr_per_in", "builds[0].shaft.spine_in", "builds[0].nock.throat_in",
		"builds[0].nock.balance_in", "builds[0].insert.proud_in", "builds[0].head.balance_in", "builds[0].head.length_in",
		"builds[0].extras[0].length_in", "search.where", "search.sort", "drawer.collars"} {
		if _, err := job.Decode(with(t, path, "")); err != nil {
			t.Errorf("without %s: %v", path, err)
		}
	}
}
