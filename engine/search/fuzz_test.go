package search_test

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/search"
)

// Whatever is asked of a small drawer, the answer is the one that computing every candidate
// gives, or the question is refused.
func FuzzQuestion(f *testing.F) {
	base := bigDrawer(f, 2, 2, 2, 3, 1, 2, 2)
	for _, question := range []string{
		`{}`, `{"where":{"total_weight":{"min":400,"max":500}},"sort":"foc"}`, `{"where":{"foc":{"min":13},"launch_margin":{"min":0.85}},"descending":true,"limit":5}`,
		`{"where":{"impact_shift":{"distance_yd":60,"min":-1,"max":1}},"dangers":true,"misfits":true}`, `{"where":{"steer_margin":{"max":30}},"in_stock":true}`, `{"sort":"dozen_cost"}`, `{"limit":0}`,
	} {
		f.Add([]byte(question))
	}
	f.Fuzz(func(t *testing.T, question []byte) {
		var whole map[string]json.RawMessage
		if err := json.Unmarshal(base.Encode(), &whole); err != nil {
			t.Fatal(err)
		}
		if !json.Valid(question) {
			return
		}
		whole["search"] = question
		data, err := json.Marshal(whole)
		if err != nil {
			t.Fatal(err)
		}
		j, err := job.Decode(data)
		if err != nil {
			return
		}
		found, err := search.Find(context.Background(), j, nil)
		if err != nil {
			return
		}
		if _, want, _ := brute(t, j); found.Matched != want {
			t.Fatalf("%d match, and computing each gives %d: %s", found.Matched, want, fmt.Sprint(string(question)))
		}
	})
}
