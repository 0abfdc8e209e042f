package sheet_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
)

// The jobs of this file are written as files; all data in them is invented.
const (
	plainBow   = `"bow":{"peak_weight_lb":68,"draw_length_in":29.5,"readings":[{"arrow_gr":420,"speed_fps":291,"sd_fps":1}]}`
	twoArrows  = `"bow":{"peak_weight_lb":68,"peak_weight_u_lb":0.2,"draw_length_in":29.5,"readings":[{"arrow_gr":360,"speed_fps":310,"sd_fps":0.6},{"arrow_gr":620,"speed_fps":247,"sd_fps":0.7}]}`
	elsewhere  = `"bow":{"peak_weight_lb":66,"peak_weight_u_lb":0.8,"draw_length_in":29,"draw_length_u_in":0.12,"brace_height_in":6.25,"readings":[{"arrow_gr":420,"speed_fps":291,"peak_weight_lb":70,"draw_length_in":30,"brace_height_in":6.5},{"arrow_gr":500,"speed_fps":262,"sd_fps":1.2},{"arrow_gr":450,"speed_fps":284,"sd_fps":2,"peak_weight_lb":70,"draw_length_in":29}]}`
	rated      = `"bow":{"peak_weight_lb":62,"draw_length_in":28.5,"rating":{"speed_fps":330,"arrow_gr":350,"peak_weight_lb":70,"draw_length_in":30,"brace_height_in":6.5}}`
	longbow    = `"bow":{"kind":"longbow","peak_weight_lb":50,"draw_length_in":28,"readings":[{"arrow_gr":500,"speed_fps":170},{"arrow_gr":620,"speed_fps":155,"sd_fps":1,"draw_length_in":27}]}`
	recurve    = `"bow":{"kind":"recurve","peak_weight_lb":40,"peak_weight_u_lb":0,"draw_length_in":28,"readings":[{"arrow_gr":350,"speed_fps":190,"sd_fps":1,"peak_weight_lb":44}]}`
	tube       = `"shaft":{"weight_gr_per_in":8.6}`
	plainNock  = `"nock":{"weight_gr":9,"throat_in":0.5,"balance_in":0.4}`
	plainVanes = `"vanes":{"count":3,"weight_gr":6,"length_in":2.2,"rear_in":1.3}`
	point      = `"head":{"weight_gr":100,"balance_in":0.5,"length_in":1}`
	weighed    = `"shaft":{"tube_weight_gr":250,"tube_weight_u_gr":0.15},"nock":{"weight_gr":9,"weight_u_gr":0.1,"throat_in":0.5,"throat_u_in":0.01,"balance_in":0.4,"balance_u_in":0.05}`
)

func build(name string, length float64, pieces ...string) string {
	return fmt.Sprintf(`{"name":%q,"length_in":%v,%s}`, name, length, strings.Join(pieces, ","))
}

func document(bow string, baseline int, builds ...string) []byte {
	return fmt.Appendf(nil, `{"format":"foreshaft-job/1",%s,"baseline":%d,"builds":[%s]}`, bow, baseline, strings.Join(builds, ","))
}

func decoded(t testing.TB, data []byte) *job.Job {
	t.Helper()
	j, err := job.Decode(data)
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	return j
}

func example(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// Every stated uncertainty, that of differences too, lies within 5 % of a
// seeded Monte Carlo that shares no code with the engine.
func TestUncertaintyAgainstMonteCarlo(t *testing.T) {
	insert := func(grains int) string {
		return fmt.Sprintf(`"insert":{"weight_gr":%d,"depth_in":1.1,"proud_in":0.1}`, grains)
	}
	const tail = `{"name":"tail","weight_gr":5,"balance_in":3,"length_in":1}`
	cases := []struct {
		name string
		data []byte
	}{
		{"the worked example", example(t)},
		{"one piece changed", document(plainBow, 0,
			build("a", 29.5, tube, plainNock, plainVanes, insert(50), point),
			build("more insert", 29.5, tube, plainNock, plainVanes, insert(75), point),
			build("more head", 29.5, tube, plainNock, plainVanes, insert(50), `"head":{"weight_gr":125,"balance_in":0.6}`),
			build("longer", 30.5, tube, plainNock, plainVanes, insert(50), point),
			build("other shaft", 29.5, `"shaft":{"weight_gr_per_in":9.9}`, plainNock, plainVanes, insert(50), point))},
		{"everything weighed, two readings far apart", document(twoArrows, 1,
			build("a", 29.5, weighed, `"length_u_in":0.02,"head":{"weight_gr":100,"weight_u_gr":0.1,"balance_in":0.5,"balance_u_in":0.02}`),
			build("b", 29.5, weighed, `"length_u_in":0.02,"head":{"weight_gr":150,"weight_u_gr":0.1,"balance_in":0.5,"balance_u_in":0.02}`),
			build("c", 29.25, weighed, `"head":{"weight_gr":100,"weight_u_gr":0.1,"balance_in":0.5,"balance_u_in":0.02}`))},
		{"a weighed tube and nothing else in doubt", document(plainBow, 0,
			build("a", 29, `"shaft":{"tube_weight_gr":250}`, `"nock":{"weight_gr":9,"weight_u_gr":0}`, `"head":{"weight_gr":100,"weight_u_gr":0}`),
			build("b", 29, `"shaft":{"tube_weight_gr":255}`, `"nock":{"weight_gr":9,"weight_u_gr":0}`, `"head":{"weight_gr":100,"weight_u_gr":0}`))},
		{"only lengths in doubt", document(plainBow, 0,
			build("a", 29, `"shaft":{"weight_gr_per_in":8.6,"weight_u_gr_per_in":0},"nock":{"weight_gr":9,"weight_u_gr":0,"balance_in":0.4,"balance_u_in":0},"head":{"weight_gr":100,"weight_u_gr":0,"length_in":1.5,"balance_u_in":0}`),
			build("b", 29.5, `"shaft":{"tube_weight_gr":255,"tube_weight_u_gr":0},"nock":{"weight_gr":9,"weight_u_gr":0,"balance_u_in":0},"head":{"weight_gr":0,"weight_u_gr":0,"balance_in":0.5}`,
				`"wrap":{"weight_gr":200,"weight_u_gr":0,"length_in":4},"collar":{"weight_gr":10,"weight_u_gr":0,"length_in":4}`),
			build("c", 28, `"shaft":{"tube_weight_gr":90,"tube_weight_u_gr":0},"nock":{"weight_gr":9,"weight_u_gr":0},"head":{"weight_gr":0,"weight_u_gr":0},"length_u_in":0`,
				`"insert":{"weight_gr":300,"weight_u_gr":0,"depth_in":2},"vanes":{"count":3,"weight_gr":30,"weight_u_gr":0,"length_in":4,"rear_in":1,"rear_u_in":0}`))},
		{"readings at other settings", document(elsewhere, 0,
			build("a", 28.5, tube, plainNock, insert(50), point),
			build("b", 28.5, tube, plainNock, insert(16), `"head":{"weight_gr":85,"length_in":0.9}`))},
		{"rating alone, at its own settings", document(rated, 0,
			build("a", 28, tube, plainNock, plainVanes, point),
			build("b", 28, tube, plainNock, plainVanes, `"head":{"weight_gr":200,"balance_in":0.8}`))},
		{"longbow, one reading at a shorter draw", document(longbow, 0,
			build("a", 29, `"shaft":{"weight_gr_per_in":12}`, `"nock":{"weight_gr":6}`, `"head":{"weight_gr":125}`),
			build("b", 30, `"shaft":{"weight_gr_per_in":13}`, `"nock":{"weight_gr":6}`, `"head":{"weight_gr":160,"length_in":1.4}`))},
		{"recurve with a peak that is certain", document(recurve, 0,
			build("a", 29, tube, plainNock, point),
			build("b", 29, `"shaft":{"weight_gr_per_in":6}`, plainNock, point))},
		{"defaults for everything that may be left out", document(plainBow, 0,
			build("a", 29, tube, `"nock":{"weight_gr":10}`, `"head":{"weight_gr":100}`),
			build("b", 29, tube, `"nock":{"weight_gr":22}`, `"head":{"weight_gr":100,"length_in":2}`),
			build("c", 29, `"shaft":{"tube_weight_gr":240}`, `"nock":{"weight_gr":10}`, `"head":{"weight_gr":100}`))},
		{"extras, twice the same and in another order", document(plainBow, 0,
			build("a", 29, tube, plainNock, point, `"extras":[{"weight_gr":4,"balance_in":28},{"weight_gr":3,"balance_in":24.65},`+tail+`,`+tail+`]`),
			build("one tail", 29, tube, plainNock, point, `"extras":[`+tail+`,{"weight_gr":4,"balance_in":28}]`),
			build("unnamed first", 29, tube, plainNock, point, `"extras":[{"weight_gr":4,"balance_in":28},{"weight_gr":9,"balance_in":20,"length_in":3}]`),
			build("without", 29, tube, plainNock, point))},
		{"collar, wrap and nothing shared", document(plainBow, 2,
			build("a", 29, tube, plainNock, point, `"collar":{"weight_gr":25,"length_in":0.8},"wrap":{"weight_gr":7,"length_in":5}`),
			build("b", 30, `"shaft":{"weight_gr_per_in":10.2,"weight_u_gr_per_in":0.02}`, `"nock":{"weight_gr":20,"balance_in":0.3}`, `"head":{"weight_gr":85,"balance_in":-0.3}`),
			build("c", 27, `"shaft":{"weight_gr_per_in":7}`, `"nock":{"weight_gr":5,"throat_in":0.25}`, `"head":{"weight_gr":60}`, `"vanes":{"count":4,"weight_gr":2,"weight_u_gr":0.1,"length_in":1.7,"length_u_in":0.1,"rear_in":1,"rear_u_in":0.2}`))},
	}
	for i, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			against(t, decoded(t, c.data), uint64(i))
		})
	}
}

// samples is enough for a standard deviation to be known to about 0.25 %.
const samples = 80000

func against(t *testing.T, j *job.Job, seed uint64) {
	s := sheet.Evaluate(j)
	w := newWorld(j)
	r := rand.New(rand.NewPCG(seed, 20240607))
	z := make([]float64, len(w.known))
	at := w.bow(z)
	nominal := make([]outcome, len(w.builds))
	for i, one := range w.builds {
		nominal[i] = one(z, at)
	}
	// First and second moments of each figure and of each difference.
	type moments struct{ one, two, delta1, delta2 outcome }
	sums := make([]moments, len(w.builds))
	now := make([]outcome, len(w.builds))
	for range samples {
		for i := range z {
			z[i] = r.NormFloat64()
		}
		at := w.bow(z)
		for i, one := range w.builds {
			now[i] = one(z, at)
		}
		for i := range now {
			for k := range worldKeys {
				x := now[i][k] - nominal[i][k]
				d := x - (now[j.Baseline][k] - nominal[j.Baseline][k])
				m := &sums[i]
				m.one[k], m.two[k] = m.one[k]+x, m.two[k]+x*x
				m.delta1[k], m.delta2[k] = m.delta1[k]+d, m.delta2[k]+d*d
			}
		}
	}
	for i := range w.builds {
		for k, key := range worldKeys {
			f, ok := s.Builds[i].Figure(key)
			if !ok {
				t.Fatalf("%s, %s: absent: %s", s.Builds[i].Name, key, s.Builds[i].Absent(key))
			}
			what := fmt.Sprintf("%s, %s", s.Builds[i].Name, key)
			size := key.Definition().Unit
			if value := size.Of(f.Value); math.Abs(value-nominal[i][k]) > 1e-9*math.Abs(nominal[i][k]) {
				t.Errorf("%s: %.12g, by its definition %.12g", what, value, nominal[i][k])
			}
			agree(t, "u of "+what, f.U/size.Size, spread(sums[i].one[k], sums[i].two[k]), nominal[i][k])
			delta, u, ok := s.Delta(i, key)
			if ok != (i != j.Baseline) {
				t.Errorf("%s: a difference where none belongs, or none where one does", what)
			}
			if !ok {
				continue
			}
			if want := nominal[i][k] - nominal[j.Baseline][k]; math.Abs(delta/size.Size-want) > 1e-9*math.Abs(nominal[i][k]) {
				t.Errorf("difference of %s: %v, by its definition %v", what, delta/size.Size, want)
			}
			agree(t, "u of the difference of "+what, u/size.Size, spread(sums[i].delta1[k], sums[i].delta2[k]), nominal[i][k])
		}
	}
}

func spread(one, two float64) float64 {
	mean := one / samples
	return math.Sqrt(math.Max(0, two/samples-mean*mean))
}

func agree(t *testing.T, what string, stated, drawn, value float64) {
	t.Helper()
	if math.Abs(stated-drawn) > 0.05*drawn+1e-10*math.Abs(value) {
		t.Errorf("%s: stated %.6g, drawn %.6g, ratio %.4f", what, stated, drawn, stated/drawn)
	}
}

// A world must tell right from wrong: a build that differs is not the same.
func TestWorldSharesWhatIsShared(t *testing.T) {
	j := decoded(t, document(plainBow, 0, build("a", 29, tube, plainNock, point), build("b", 29, tube, plainNock, point),
		build("c", 29, tube, plainNock, `"head":{"weight_gr":100,"balance_in":0.5,"length_in":1,"name":"another"}`)))
	w := newWorld(j)
	z := make([]float64, len(w.known))
	for i := range z {
		z[i] = 1 + float64(i)/7
	}
	at := w.bow(z)
	if w.builds[0](z, at) != w.builds[1](z, at) {
		t.Error("the same pieces must draw the same errors")
	}
	if w.builds[0](z, at) == w.builds[2](z, at) {
		t.Error("another head must draw its own errors")
	}
	if s := sheet.Evaluate(j); s.Builds[0].Name != "a" {
		t.Error("order")
	} else if _, u, _ := s.Delta(2, figure.TotalWeight); u == 0 {
		t.Error("another head of the same weight may weigh something else")
	}
}
