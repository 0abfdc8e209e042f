package sheet_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// The worked answer, solved independently with a general-purpose program; the
// digits are those it printed.
func TestWorkedAnswer(t *testing.T) {
	s := sheet.Evaluate(decoded(t, example(t)))
	want := map[figure.Key]float64{
		figure.TotalWeight: 446.4, figure.FrontWeight: 164, figure.BalancePoint: 19.405018, figure.FOC: 15.779722, figure.Inertia: 49695.884,
		figure.WeightPerDraw: 6.564706, figure.LaunchSpeed: 283.748577, figure.LaunchEnergy: 79.791719, figure.DragCoefficient: 3.000427,
	}
	for key, value := range want {
		f, ok := s.Builds[0].Figure(key)
		if got := key.Definition().Unit.Of(f.Value); !ok || math.Abs(got/value-1) > 1e-6 {
			t.Errorf("%s: got %.9g, want %.9g", key, got, value)
		}
	}
	at60 := map[figure.Key]float64{
		figure.FlightTime: 0.6700905, figure.Speed: 254.952662, figure.SightMark: 1.387907, figure.Drop: 83.67293,
		figure.WindDrift: 6.203393, figure.RangeShort: 2.97813, figure.RangeLong: 2.67656,
	}
	for key, value := range at60 {
		f, ok := s.Builds[0].At[4].Figure(key)
		if got := key.Definition().Unit.Of(f.Value); !ok || math.Abs(got/value-1) > 1e-5 {
			t.Errorf("%s at 60 yd: got %.9g, want %.9g", key, got, value)
		}
	}
	if got := s.Fit.VirtualMass.In(unit.Grain); math.Abs(got-90) > 90e-6 {
		t.Errorf("K: got %.9g gr, want 90", got)
	}
	if got := s.Fit.Energy.In(unit.FootPound); math.Abs(got/95.87876-1) > 1e-6 {
		t.Errorf("E: got %.9g ft·lbf, want 95.87876", got)
	}
}

// The figures with uncertainty are the numbers that the other door gives, to
// their last bit.
func TestBothDoorsAgree(t *testing.T) {
	seen := map[figure.Key]bool{}
	rapid.Check(t, func(t *rapid.T) {
		j := someJob(t)
		s, setting := sheet.Evaluate(j), sheet.NewSetting(j)
		everywhere(s, func(build, distance int, set *sheet.Set) {
			var values figure.Values
			if distance == sheet.Whole {
				values = setting.Values(&j.Builds[build])
			} else {
				values = setting.At(&j.Builds[build], j.DistancesOrDefault()[distance])
			}
			for k := range figure.Count {
				f, there := set.Figure(k)
				value, ok := values.Get(k)
				// A setting does not know which build is the one compared with: what
				// compares gives nothing there, or all of itself.
				if s.Itself(build, k) {
					if k == figure.SteerMoment {
						value--
					}
					if there || ok && math.Abs(value) > 1e-8 {
						t.Fatalf("%s against itself: %v, %v", k, there, value)
					}
					continue
				}
				if ok != there || ok && value != f.Value {
					t.Fatalf("%s at %d: %v %v and %v %v", k, distance, f.Value, there, value, ok)
				}
				seen[k] = seen[k] || there
			}
		})
	})
	eachSeen(t, seen)
}

// Whatever a valid job holds, every figure is a finite number with a finite
// uncertainty, or absent with a reason; never both, never neither. Only what would
// compare a build with itself is left out without a word.
func TestNoFigureWithoutANumberOrAReason(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := someJob(t)
		s := sheet.Evaluate(j)
		if len(s.Builds[0].At) != len(j.DistancesOrDefault()) {
			t.Fatalf("figures at %d distances of %d", len(s.Builds[0].At), len(j.DistancesOrDefault()))
		}
		everywhere(s, func(build, distance int, set *sheet.Set) {
			keys := sheet.Keys()
			if distance != sheet.Whole {
				keys = sheet.KeysAt()
			}
			for _, k := range keys {
				f, there := set.Figure(k)
				reason := set.Absent(k)
				if s.Itself(build, k) {
					if there || reason != "" {
						t.Fatalf("%s against itself: there %v, reason %q", k, there, reason)
					}
					continue
				}
				if there == (reason != "") {
					t.Fatalf("%s: there %v, reason %q", k, there, reason)
				}
				if !there {
					if !givesReason(k, reason) {
						t.Fatalf("%s: the reason names no input: %q", k, reason)
					}
					continue
				}
				finite(t, k, f.Value, f.U)
				if f.U < 0 || f.Basis != figure.Measured && f.Basis != figure.Estimated {
					t.Fatalf("%s: ± %v, %q", k, f.U, f.Basis)
				}
				for n, share := range f.Shares {
					if finite(t, k, share.Amount); share.Input < 0 || share.Input >= len(s.Inputs) || n > 0 && share.Input <= f.Shares[n-1].Input {
						t.Fatalf("%s: input %d of %d, in place %d", k, share.Input, len(s.Inputs), n)
					}
				}
				if combined := figure.Combine(f.Shares); math.Abs(combined-f.U) > 1e-9*f.U {
					t.Fatalf("%s: ± %v, its shares make %v", k, f.U, combined)
				}
				if delta, u, ok := s.DeltaAt(build, distance, k); ok {
					finite(t, k, delta, u)
				}
			}
		})
		for _, word := range []string{"NaN", "Inf"} {
			if strings.Contains(string(s.Answer()), `"`+word) || strings.Contains(string(s.Answer()), " "+word) {
				t.Fatalf("the answer holds %s:\n%s", word, s.Answer())
			}
		}
	})
}

// givesReason reports whether a reason names what is missing or, for a figure of
// the path, says what keeps the arrow from it.
func givesReason(k figure.Key, reason string) bool {
	if strings.HasPrefix(reason, "needs ") {
		return true
	}
	if !k.Definition().At && k != figure.MarkSpread && k != figure.HoldOnNear && k != figure.HoldOnFar {
		return false
	}
	for _, says := range []string{
		"is out of reach", "is too near", "in this wind", "no target within", "no distance on the level", "no path of this arrow",
	} {
		if strings.Contains(reason, says) {
			return true
		}
	}
	return false
}

func finite(t *rapid.T, k figure.Key, numbers ...float64) {
	for _, x := range numbers {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%s: %v", k, numbers)
		}
	}
}

// A build compared with an identical copy differs by 0 ± 0; the baseline itself
// has no difference.
func TestCopyDiffersByNothing(t *testing.T) {
	seen := map[figure.Key]bool{}
	rapid.Check(t, func(t *rapid.T) {
		j := someJob(t)
		j.Builds = append(j.Builds, j.Builds[j.Baseline].Clone())
		twin := len(j.Builds) - 1
		j.Builds[twin].Name = "twin"
		s := sheet.Evaluate(j)
		everywhere(s, func(build, distance int, set *sheet.Set) {
			if build != twin {
				return
			}
			for k := range figure.Count {
				if _, _, ok := s.DeltaAt(j.Baseline, distance, k); ok {
					t.Fatalf("%s: the baseline has a difference", k)
				}
				f, there := set.Figure(k)
				delta, u, ok := s.DeltaAt(twin, distance, k)
				if k.Definition().Compares { // it is the difference itself
					delta, u, ok = f.Value, f.U, there && !ok
				}
				switch k {
				case figure.SteerMoment: // all of the baseline's
					if !there {
						continue
					}
					delta, u = delta-1, math.Floor(u/1e-9)
				case figure.MarginVsProven: // another build may be the proven one
					if s.Proven != j.Baseline || !there {
						continue
					}
					u = math.Floor(u / 1e-9)
				}
				if ok != there || delta != 0 || u != 0 {
					t.Fatalf("%s: %v ± %v, %v", k, delta, u, ok)
				}
				seen[k] = seen[k] || there
			}
		})
	})
	eachSeen(t, seen)
}

// Builds that rest on the same bow are compared better than either is known.
// Common practice, no source: two builds a little apart in weight are told
// apart although neither speed is known to a foot per second.
func TestDifferenceIsKnownBetter(t *testing.T) {
	s := sheet.Evaluate(decoded(t, document(plainBow, 0,
		build("a", 29.5, tube, plainNock, point), build("b", 29.5, tube, plainNock, `"head":{"weight_gr":106,"weight_u_gr":0.1,"balance_in":0.5,"length_in":1}`))))
	f, _ := s.Builds[1].Figure(figure.LaunchSpeed)
	delta, u, ok := s.Delta(1, figure.LaunchSpeed)
	if !ok || delta >= 0 || u > f.U/3 {
		t.Errorf("speed ± %.2f ft/s, difference %.2f ± %.2f", f.U/0.3048, delta/0.3048, u/0.3048)
	}
}

func TestAbsentNamesTheInput(t *testing.T) {
	const noReading = "needs a chronograph reading or the bow's rated speed"
	none := `"bow":{}`
	light := `"shaft":{"tube_weight_gr":0},"nock":{"weight_gr":0},"head":{"weight_gr":0}`
	cases := []struct {
		name string
		bow  string
		data string
		key  figure.Key
		want string
	}{
		{"no bow at all", `"air":{}`, build("a", 29, tube, plainNock, point), figure.LaunchSpeed, noReading},
		{"no reading", none, build("a", 29, tube, plainNock, point), figure.LaunchEnergy, noReading},
		{"no reading, momentum", none, build("a", 29, tube, plainNock, point), figure.LaunchMomentum, noReading},
		{"no reading, share", none, build("a", 29, tube, plainNock, point), figure.EnergyShare, noReading},
		{"no peak", none, build("a", 29, tube, plainNock, point), figure.WeightPerDraw, "needs the bow's peak draw weight"},
		{"reading at its own draw", `"bow":{"readings":[{"arrow_gr":400,"speed_fps":280,"draw_length_in":29}]}`, build("a", 29, tube, plainNock, point), figure.LaunchSpeed,
			"needs the bow's draw length, because a speed was taken at its own"},
		{"length below the throat", plainBow, build("a", 0.4, tube, plainNock, point), figure.TotalWeight, "needs a length greater than the nock's throat offset"},
		{"length below the throat, speed", plainBow, build("a", 0.4, tube, plainNock, point), figure.LaunchSpeed, "needs a length greater than the nock's throat offset"},
		{"length at the throat", plainBow, build("a", 0.5, tube, plainNock, point), figure.FOC, "needs a length greater than the nock's throat offset"},
		{"no weight at all", plainBow, build("a", 29, light), figure.BalancePoint, "needs a piece that weighs something"},
		{"no weight at all, speed", plainBow, build("a", 29, light), figure.LaunchSpeed, "needs a piece that weighs something"},
		{"no price", plainBow, build("a", 29, tube, plainNock, point, plainVanes), figure.DozenCost, "needs a price for the shaft, the nock, the vanes, the head"},
		{"one price missing", plainBow, build("a", 29, `"shaft":{"weight_gr_per_in":9,"price":10},"nock":{"weight_gr":9,"price":1},"head":{"weight_gr":100}`), figure.DozenCost, "needs a price for the head"},
		{"an extra without a price", plainBow, build("a", 29, `"shaft":{"weight_gr_per_in":9,"price":10},"nock":{"weight_gr":9,"price":1},"head":{"weight_gr":100,"price":2},"extras":[{"name":"glue","weight_gr":1,"balance_in":28}]`), figure.DozenCost, "needs a price for the glue"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := sheet.Evaluate(decoded(t, document(c.bow, 0, c.data)))
			if _, there := s.Builds[0].Figure(c.key); there {
				t.Fatalf("%s is there", c.key)
			}
			if got := s.Builds[0].Absent(c.key); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			if w := s.Working(0, c.key); !strings.Contains(w.Result, c.want) {
				t.Errorf("the working says %q", w.Result)
			}
		})
	}
}

// Nothing weighing anything is still a weight: zero.
func TestZeroWeight(t *testing.T) {
	s := sheet.Evaluate(decoded(t, document(plainBow, 0, build("a", 29, `"shaft":{"tube_weight_gr":0},"nock":{"weight_gr":0},"head":{"weight_gr":0}`))))
	if f, there := s.Builds[0].Figure(figure.TotalWeight); !there || f.Value != 0 || f.U <= 0 {
		t.Errorf("%+v, %v", f, there)
	}
}

// A difference is left out where either build lacks the figure.
func TestDeltaNeedsBoth(t *testing.T) {
	data := document(plainBow, 0, build("short", 0.4, tube, plainNock, point), build("a", 29, tube, plainNock, point))
	j := decoded(t, data)
	for baseline, other := range []int{1, 0} {
		j.Baseline = baseline
		if delta, u, ok := sheet.Evaluate(j).Delta(other, figure.FOC); ok {
			t.Errorf("baseline %d: %v ± %v", baseline, delta, u)
		}
	}
}

func TestDozenCost(t *testing.T) {
	s := sheet.Evaluate(decoded(t, document(plainBow, 0, build("a", 29,
		`"shaft":{"weight_gr_per_in":9,"price":10},"nock":{"weight_gr":9,"price":1.25},"head":{"weight_gr":100,"price":2},"vanes":{"count":3,"weight_gr":6,"length_in":2,"rear_in":1,"price":0.5},"extras":[{"weight_gr":1,"balance_in":28,"price":0.1}]`))))
	f, ok := s.Builds[0].Figure(figure.DozenCost)
	if want := 12 * (10 + 1.25 + 2 + 3*0.5 + 0.1); !ok || math.Abs(f.Value-want) > 1e-12 || f.U != 0 {
		t.Errorf("got %v ± %v, want %v", f.Value, f.U, want)
	}
}

// A chronograph's calibration is in doubt where one was used, and for all builds
// alike; a rating has no chronograph.
func TestCalibrationGoesWithReadings(t *testing.T) {
	for bow, want := range map[string]bool{plainBow: true, twoArrows: true, rated: false, `"bow":{}`: false} {
		s := sheet.Evaluate(decoded(t, document(bow, 0, build("a", 29, tube, plainNock, point))))
		found := slices.ContainsFunc(s.Inputs, func(in figure.Input) bool { return in.Name == "chronograph calibration" && in.Shared })
		if found != want {
			t.Errorf("%s: calibration among the inputs: %v", bow, found)
		}
	}
}

// Every input says what would make it better known.
func TestInputsHaveARemedy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, in := range sheet.Evaluate(someJob(t)).Inputs {
			if in.Name == "" || in.Remedy == "" {
				t.Fatalf("%+v", in)
			}
		}
	})
}

// A speed beyond the readings says so.
func TestOutsideNote(t *testing.T) {
	s := sheet.Evaluate(decoded(t, document(plainBow, 0,
		build("near", 29.5, tube, plainNock, point), build("far", 29.5, tube, plainNock, `"head":{"weight_gr":300}`))))
	if len(s.Builds[0].Notes) != 0 || len(s.Builds[1].Notes) != 1 || !strings.Contains(s.Builds[1].Notes[0].Text, "beyond the readings") {
		t.Errorf("%+v, %+v", s.Builds[0].Notes, s.Builds[1].Notes)
	}
}

// A head that screws into nothing, and blades without vanes, are no caution of
// the format, but silence would pass for approval.
func TestNotesOnWhatIsMissing(t *testing.T) {
	threaded := `"head":{"weight_gr":100,"thread":"8-32"}`
	bladed := `"head":{"weight_gr":100,"blades":3}`
	vanes := `"vanes":{"count":3,"weight_gr":6,"length_in":2,"rear_in":1}`
	insert := `"insert":{"weight_gr":20,"depth_in":1,"thread":"8-32"}`
	for _, c := range []struct{ pieces, says string }{
		{threaded, "there is no insert"}, {threaded + "," + insert, ""}, {bladed, "no vanes behind"}, {bladed + "," + vanes, ""}, {point, ""},
	} {
		var got []string
		for _, n := range sheet.Evaluate(decoded(t, document(plainBow, 0, build("a", 29.5, tube, plainNock, c.pieces)))).Builds[0].Notes {
			if n.Level != caution.Warn {
				t.Errorf("%+v", n)
			}
			if n.Code != sheet.BeyondReadings {
				got = append(got, n.Text)
			}
		}
		if all := strings.Join(got, " "); c.says == "" && all != "" || !strings.Contains(all, c.says) {
			t.Errorf("%s: %q, want it to say %q", c.pieces, all, c.says)
		}
	}
}

func TestEvaluateLeavesTheJobAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := someJob(t)
		before := string(j.Encode())
		sheet.Evaluate(j).Answer()
		if after := string(j.Encode()); after != before {
			t.Fatalf("before %s\nafter  %s", before, after)
		}
	})
}

func TestNoBuilds(t *testing.T) {
	if s := sheet.Evaluate(job.New()); len(s.Builds) != 0 || len(s.Answer()) == 0 {
		t.Errorf("%+v", s)
	}
}
