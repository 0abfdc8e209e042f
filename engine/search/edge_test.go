package search_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/search"
)

// edgeJob puts a bow, a drawer and a question together (invented).
func edgeJob(t *testing.T, bow, drawer, question string) *job.Job {
	t.Helper()
	text := fmt.Sprintf(`{"format":"foreshaft-job/1","bow":{%s},"builds":[{"name":"base","length_in":29,"shaft":{"weight_gr_per_in":8,"outer_diameter_in":0.246,"spine_in":0.3},
		"nock":{"weight_gr":9},"head":{"weight_gr":100,"length_in":1}}],"drawer":{%s},"search":{%s}}`, bow, drawer, question)
	j, err := job.Decode([]byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return j
}

// series writes count pieces that weigh more by a step each.
func series(piece string, from, step float64, count int) string {
	var out []string
	for i := range count {
		out = append(out, fmt.Sprintf(piece, from+step*float64(i)))
	}
	return strings.Join(out, ",")
}

// Drawers at the edge of what a job may say: what a search finds is what computing
// every candidate finds, in the same order. Each names what it is about.
func TestEdgesEqualBruteForce(t *testing.T) {
	const bow = `"peak_weight_lb":60,"draw_length_in":29,"readings":[{"arrow_gr":420,"speed_fps":280}]`
	const some = `"shafts":[{"weight_gr_per_in":8.5,"spine_in":0.3,"outer_diameter_in":0.246,"price":9}],"nocks":[{"weight_gr":9,"price":1}],"heads":[{"weight_gr":100,"price":3},{"weight_gr":125,"price":4}]`
	for _, c := range []struct {
		name, bow, drawer, question string
		matched                     uint64
	}{
		{"price of an arrow without a tube", bow, `"lengths_in":[0.4,29],` + some, `"where":{"dozen_cost":{"min":150,"max":160}},"misfits":true,"dangers":true`, 2},
		{"stiffness of an arrow without a tube", bow, `"lengths_in":[0.4],` + some, `"where":{"bending_stiffness":{"min":100}},"misfits":true,"dangers":true`, 2},
		{"no tube and hardly a front", bow, `"lengths_in":[20],"shafts":[{"weight_gr_per_in":9}],"nocks":[{"weight_gr":9,"throat_in":40}],"heads":[{"weight_gr":100},{"weight_gr":300}]`, `"misfits":true,"dangers":true`, 2},
		{"insert as long as the arrow", bow, `"lengths_in":[60],"shafts":[{"weight_gr_per_in":9}],"nocks":[{"weight_gr":9,"throat_in":0}],"inserts":[{"weight_gr":50,"depth_in":59.8}],"heads":[{"weight_gr":100}]`, `"dangers":true`, 1},
		{"a margin of nothing that presses", bow, `"lengths_in":[29],"shafts":[{"tube_weight_gr":0,"spine_in":0.3}],"nocks":[{"weight_gr":9,"balance_in":0},{"weight_gr":9}],"heads":[{"weight_gr":0},{"weight_gr":100}]`,
			`"where":{"launch_margin":{}},"dangers":true`, 3},
		{"a greatest margin of nothing that presses", bow, `"lengths_in":[29],"shafts":[{"tube_weight_gr":0,"spine_in":0.3}],"nocks":[{"weight_gr":9,"balance_in":0},{"weight_gr":9}],"heads":[{"weight_gr":0},{"weight_gr":100}]`,
			`"where":{"launch_margin":{"max":5}},"dangers":true`, 2},
		// The rest lies 0.0024 in behind the cut end: package stiffness takes it for there and
		// corrects by its reaction.
		{"a rest all but at the cut end", `"peak_weight_lb":60,"draw_length_in":29,"rest_behind_pivot_in":-1.4756,"readings":[{"arrow_gr":420,"speed_fps":280}]`,
			`"lengths_in":[28.728],"shafts":[` + series(`{"weight_gr_per_in":8.5,"spine_in":%.6f}`, 0.3, 3e-6, 60) + `],"nocks":[{"weight_gr":9}],"heads":[{"weight_gr":100}]`, `"where":{"launch_margin":{"min":1.140632}},"dangers":true`, 30},
		{"a maximum beyond numbers in SI", bow, `"lengths_in":[29],` + some, `"where":{"energy":{"distance_yd":20,"max":1.7e308}},"dangers":true`, 2},
		{"a minimum beyond numbers in SI", bow, `"lengths_in":[29],` + some, `"where":{"launch_energy":{"min":1.7e308}},"dangers":true`, 0},
		// 400 gr on 40 ± 10 lb are 5 gr/lb two standard uncertainties down, but for the
		// curve of weight over pull.
		{"a pull that is hardly known", `"peak_weight_lb":40,"peak_weight_u_lb":10,"draw_length_in":28`,
			`"lengths_in":[29],"shafts":[{"tube_weight_gr":250,"tube_weight_u_gr":0}],"nocks":[{"weight_gr":0,"weight_u_gr":0}],"heads":[` + series(`{"weight_gr":%.3f,"weight_u_gr":0}`, 149.9, 0.01, 40) + `]`, ``, 20},
		// Some are computed one by one, since an insert does not fit the short tube, and
		// rank among those that sums tell.
		{"weight per draw by sums and by hand", bow, `"lengths_in":[29,1.7],"shafts":[{"tube_weight_gr":250}],"nocks":[{"weight_gr":9}],"inserts":[null,{"weight_gr":50,"depth_in":2}],"heads":[` + series(`{"weight_gr":%.0f}`, 100, 10, 5) + `]`,
			`"sort":"weight_per_draw","dangers":true`, 15},
		{"nothing to rank by", `"draw_length_in":29`, `"lengths_in":[29],"shafts":[{"tube_weight_gr":200}],"nocks":[{"weight_gr":9}],"heads":[{"weight_gr":150},{"weight_gr":100},{"weight_gr":125}]`,
			`"sort":"weight_per_draw"`, 3},
		{"nothing to rank by, descending", `"peak_weight_lb":60`, `"lengths_in":[29],"shafts":[{"tube_weight_gr":200}],"nocks":[{"weight_gr":9}],"heads":[{"weight_gr":150},{"weight_gr":100},{"weight_gr":125}]`,
			`"sort":"launch_speed","descending":true`, 3},
		// 17.7 + 45.8 = 14.6 + 48.9, but not in the last bit.
		{"a tie on paper", bow, `"shafts":[{"tube_weight_gr":331.7}],"nocks":[{"weight_gr":17.7},{"weight_gr":14.6}],"vanes":[{"count":3,"weight_gr":4.4,"length_in":2,"rear_in":1}],
			"inserts":[{"weight_gr":45.8,"depth_in":1},{"weight_gr":48.9,"depth_in":1}],"heads":[{"weight_gr":150.8}]`, `"dangers":true`, 4},
		{"faster first", bow, `"lengths_in":[29,28],` + some, `"sort":"launch_speed","descending":true,"dangers":true`, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := edgeJob(t, c.bow, c.drawer, c.question)
			if found := sameAsBrute(t, j); found.Matched != c.matched {
				t.Errorf("%d match, want %d", found.Matched, c.matched)
			}
		})
	}
}

// sameAsBrute looks for a job's matches both ways and compares them.
func sameAsBrute(t *testing.T, j *job.Job) *search.Found {
	t.Helper()
	candidates, matched, sorted := brute(t, j)
	found, err := search.Find(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if found.Candidates != candidates || found.Matched != matched {
		t.Fatalf("%d of %d match, by brute force %d of %d", found.Matched, found.Candidates, matched, candidates)
	}
	if want := min(j.Search.Value.Limit.Or(20), len(sorted)); len(found.Picks) != want {
		t.Fatalf("%d matches are listed, want %d", len(found.Picks), want)
	}
	for i, p := range found.Picks {
		if p != sorted[i].pick {
			t.Fatalf("match %d is %v, by brute force %v", i, p, sorted[i].pick)
		}
	}
	return found
}

// All candidates are decided in the end, those that are out of stock included.
func TestProgressEndsWithAll(t *testing.T) {
	j := edgeJob(t, `"peak_weight_lb":60`, `"lengths_in":[29],"shafts":[{"weight_gr_per_in":8,"stock":1},{"weight_gr_per_in":9,"stock":0},{"weight_gr_per_in":9,"stock":2}],"nocks":[{"weight_gr":9,"stock":12}],"heads":[`+
		series(`{"weight_gr":%.0f,"stock":3}`, 100, 10, 5)+`]`, `"in_stock":true`)
	var last search.Progress
	if _, err := search.Find(context.Background(), j, func(p search.Progress) { last = p }); err != nil || last.Done != 15 || last.Candidates != 15 {
		t.Errorf("%v, ends with %+v", err, last)
	}
}

// A bench may have no build yet: then a drawer must name its lengths.
func TestNoBuildNoLength(t *testing.T) {
	text := `{"format":"foreshaft-job/1","bow":{"peak_weight_lb":60},"builds":[],"drawer":{%s"shafts":[{"weight_gr_per_in":8}],"nocks":[{"weight_gr":9}],"heads":[{"weight_gr":250}]},"search":{}}`
	for lengths, want := range map[string]string{"": "drawer.lengths_in: must not be empty", `"lengths_in":[29],`: ""} {
		j, err := job.DecodeBench([]byte(fmt.Sprintf(text, lengths)))
		if err != nil {
			t.Fatal(err)
		}
		found, err := search.Find(context.Background(), j, nil)
		var wrong *record.Error
		switch {
		case want == "" && (err != nil || found.Matched != 1):
			t.Errorf("%+v, %v", found, err)
		case want != "" && (!errors.As(err, &wrong) || !strings.HasPrefix(err.Error(), want)):
			t.Errorf("%v, want %s", err, want)
		}
	}
}
