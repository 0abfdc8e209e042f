package job_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/enginetest"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// missingKeys lists the keys that the types of the format hold and a document
// does not.
func missingKeys(document map[string]any) []string {
	var out []string
	var walk func(path string, of reflect.Type, value any)
	walk = func(path string, of reflect.Type, value any) {
		if o, ok := reflect.New(of).Interface().(interface{ Slot() (any, *bool) }); ok {
			inside, _ := o.Slot()
			of = reflect.TypeOf(inside).Elem()
		}
		switch of.Kind() {
		case reflect.Slice:
			list := value.([]any)
			if i := slices.IndexFunc(list, func(v any) bool { return v != nil }); i >= 0 {
				walk(path+"[]", of.Elem(), list[i])
			}
		case reflect.Struct:
			object := value.(map[string]any)
			for _, f := range reflect.VisibleFields(of) {
				key := f.Tag.Get("job")
				switch inside, there := object[key]; {
				case key == "", path == ".drawer[]", strings.HasPrefix(path, ".drawer."):
				case !there:
					out = append(out, path+"."+key)
				default:
					walk(path+"."+key, f.Type, inside)
				}
			}
		}
	}
	walk("", reflect.TypeFor[job.Job](), document)
	return out
}

func TestDefaults(t *testing.T) {
	const least = `{"format":"foreshaft-job/1","builds":[{"name":"a","length_in":29,"shaft":{"weight_gr_per_in":8},"nock":{"weight_gr":9},"head":{"weight_gr":100}}]}`
	j, err := job.Decode([]byte(least))
	if err != nil {
		t.Fatal(err)
	}
	var yards []float64
	for _, d := range j.DistancesOrDefault() {
		yards = append(yards, d.In(unit.Yard))
	}
	if !slices.Equal(yards, []float64{20, 30, 40, 50, 60}) {
		t.Errorf("distances %v", yards)
	}
	if j.Baseline != 0 || j.Builds[0].Proven || !j.Limits.Value.ElectronicsAllowed() {
		t.Errorf("baseline, proven, electronics: %+v", j)
	}
	b := &j.Builds[0]
	if b.Nock.ThroatOffset() != 0.5*unit.Inch || b.Nock.BalancePoint() != 0.5*unit.Inch {
		t.Errorf("nock: throat %v, balance %v", b.Nock.ThroatOffset(), b.Nock.BalancePoint())
	}
	if b.Head.BalancePoint() != 0.5*unit.Inch {
		t.Errorf("head without length: balance %v", b.Head.BalancePoint())
	}
	b.Head.Length = unit.Some(1.5 * unit.Inch)
	if b.Head.BalancePoint() != 0.75*unit.Inch {
		t.Errorf("head with length: balance %v", b.Head.BalancePoint())
	}
	b.Nock.Throat = unit.Some(0.6 * unit.Inch)
	if b.Nock.BalancePoint() != 0.6*unit.Inch {
		t.Errorf("nock with throat: balance %v", b.Nock.BalancePoint())
	}
}

// A tube that was weighed wins over the weight of an inch.
func TestTubeWeightWins(t *testing.T) {
	j, err := job.Decode(full(t))
	if err != nil {
		t.Fatal(err)
	}
	if got := j.Builds[0].ShaftWeight().In(unit.Grain); got < 249.59 || got > 249.61 {
		t.Errorf("got %v gr, want the 249.6 that the scale said", got)
	}
}

func TestDistancesKeepTheirOrder(t *testing.T) {
	j, err := job.Decode(with(t, "distances_yd", "[60, 20.5, 40]"))
	if err != nil {
		t.Fatal(err)
	}
	if want := []unit.Length{60 * unit.Yard, 20.5 * unit.Yard, 40 * unit.Yard}; !slices.Equal(j.DistancesOrDefault(), want) {
		t.Errorf("got %v", j.DistancesOrDefault())
	}
}

// Nothing that happens to a clone reaches the job it was made of.
func TestCloneSharesNothingThatChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := enginetest.Job(t)
		before := string(j.Encode())
		c := j.Clone()
		if !c.Equal(j) {
			t.Fatalf("a clone differs:\n%s\n%s", before, c.Encode())
		}
		for i := range c.Builds {
			c.Builds[i].Name = "changed"
			c.Builds[i].Head.Weight += unit.Grain
			for k := range c.Builds[i].Extras {
				c.Builds[i].Extras[k] = part.Extra{}
			}
		}
		for i := range c.Bow.Value.Readings {
			c.Bow.Value.Readings[i].Speed++
		}
		for i := range c.Sight.Value.Marks {
			c.Sight.Value.Marks[i].Reading++
		}
		for i := range c.Distances {
			c.Distances[i]++
		}
		if after := string(j.Encode()); after != before {
			t.Fatalf("the original changed:\n%s\n%s", before, after)
		}
		if c.Equal(j) {
			t.Fatal("the clone did not change")
		}
	})
}

func TestNewIsAnEmptyBench(t *testing.T) {
	j, err := job.DecodeBench(job.New().Encode())
	if err != nil || len(j.Builds) != 0 {
		t.Errorf("%v, %+v", err, j)
	}
}
