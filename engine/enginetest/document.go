// Package enginetest makes random valid jobs for tests. Nothing but tests
// imports it.
//
// It writes job files as text, from the tags that describe the format, so that
// what it makes has gone through the decoder like any file.
package enginetest

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
)

// Job draws a random valid job.
func Job(t *rapid.T) *job.Job {
	document := Document(t)
	j, err := job.Decode(document)
	if err != nil {
		t.Fatalf("a valid job is refused: %v\n%s", err, document)
	}
	return j
}

// Document draws the text of a random valid job file. Zeros and the bounds of
// every range come up often. Numbers have at most four decimals.
func Document(t *rapid.T) []byte { return []byte(maker{t}.object(reflect.TypeFor[job.Job]())) }

type maker struct{ *rapid.T }

// pair is a key and the text of its value.
type pair struct{ key, value string }

func (m maker) object(of reflect.Type) string {
	var pairs []pair
	for _, f := range reflect.VisibleFields(of) {
		key := f.Tag.Get("job")
		if key == "" || of == reflect.TypeFor[job.Job]() && slices.Contains(lawfully, key) || f.Tag.Get("need") != "yes" && rapid.IntRange(0, 2).Draw(m.T, key+" there") == 0 {
			continue
		}
		pairs = append(pairs, pair{key, m.value(key, f.Type, f.Tag)})
	}
	return written(m.lawful(of, pairs))
}

// lawfully lists the keys of a job that lawful makes.
var lawfully = []string{"format", "builds", "baseline", "distances_yd"}

// lawful mends what the rules that concern more than one value ask for.
func (m maker) lawful(of reflect.Type, pairs []pair) []pair {
	switch of {
	case reflect.TypeFor[job.Job]():
		count := rapid.IntRange(1, 4).Draw(m.T, "builds")
		builds := make([]string, count)
		for i := range builds {
			builds[i] = m.build(i)
		}
		pairs = set(pairs, "format", strconv.Quote(job.Format))
		pairs = set(pairs, "builds", "["+strings.Join(builds, ",")+"]")
		pairs = set(pairs, "baseline", strconv.Itoa(rapid.IntRange(0, count-1).Draw(m.T, "baseline")))
		distances := rapid.SliceOfNDistinct(rapid.IntRange(1, 2000), 0, 6, rapid.ID[int]).Draw(m.T, "distances")
		texts := make([]string, len(distances))
		for i, d := range distances {
			texts[i] = decimals(d, 1)
		}
		pairs = set(pairs, "distances_yd", "["+strings.Join(texts, ",")+"]")
	case reflect.TypeFor[part.Shaft]():
		if !has(pairs, "tube_weight_gr") && !has(pairs, "weight_gr_per_in") {
			pairs = append(pairs, pair{"weight_gr_per_in", decimals(rapid.IntRange(10, 300).Draw(m.T, "gr/in"), 1)})
		}
	case reflect.TypeFor[dozen.Batch]():
		pairs = m.planned(pairs)
	case reflect.TypeFor[job.Mark]():
		pairs = set(pairs, "distance_yd", decimals(rapid.IntRange(1, 2000).Draw(m.T, "distance"), 1))
	case reflect.TypeFor[job.Search]():
		if has(pairs, "sort") {
			pairs = set(pairs, "sort", strconv.Quote(m.key(false).String()))
		}
	}
	return pairs
}

// planned gives a batch a build list that has its pieces in the order they were weighed, or
// none.
func (m maker) planned(pairs []pair) []pair {
	pairs = slices.DeleteFunc(pairs, func(p pair) bool { return p.key == "plan" })
	fewest := math.MaxInt
	var kinds []dozen.Kind
	for k := range dozen.Kinds {
		for _, p := range pairs {
			if p.key == k.String() {
				var list []json.RawMessage
				if err := json.Unmarshal([]byte(p.value), &list); err != nil {
					panic("enginetest: " + err.Error())
				}
				kinds, fewest = append(kinds, k), min(fewest, len(list))
			}
		}
	}
	if len(kinds) == 0 || rapid.Bool().Draw(m.T, "no plan") {
		return pairs
	}
	var arrows []string
	for i := range rapid.IntRange(1, fewest).Draw(m.T, "planned") {
		arrow := []pair{{"made", strconv.FormatBool(rapid.Bool().Draw(m.T, "made"))}}
		for _, k := range kinds {
			arrow = append(arrow, pair{k.One(), strconv.Itoa(i)})
		}
		arrows = append(arrows, written(arrow))
	}
	return set(pairs, "plan", "["+strings.Join(arrows, ",")+"]")
}

func (m maker) build(i int) string {
	var build map[string]json.RawMessage
	if err := json.Unmarshal([]byte(m.object(reflect.TypeFor[arrow.Build]())), &build); err != nil {
		panic("enginetest: " + err.Error())
	}
	build["name"], _ = json.Marshal(fmt.Sprintf("%d %s", i, m.text("name")))
	out, err := json.Marshal(build)
	if err != nil {
		panic("enginetest: " + err.Error())
	}
	return string(out)
}

func (m maker) value(key string, of reflect.Type, tag reflect.StructTag) string {
	if o, ok := reflect.New(of).Interface().(interface{ Slot() (any, *bool) }); ok {
		value, _ := o.Slot()
		of = reflect.TypeOf(value).Elem()
	}
	switch of.Kind() {
	case reflect.Struct:
		return m.object(of)
	case reflect.Slice:
		elements := make([]string, rapid.IntRange(1, 3).Draw(m.T, key+" count"))
		for i := range elements {
			elements[i] = m.value(key, of.Elem(), tag)
		}
		return "[" + strings.Join(elements, ",") + "]"
	case reflect.Map:
		return m.windows()
	case reflect.String:
		if words := tag.Get("one"); words != "" {
			return strconv.Quote(rapid.SampledFrom(strings.Split(words, ",")).Draw(m.T, key))
		}
		text, _ := json.Marshal(m.text(key))
		return string(text)
	case reflect.Bool:
		return strconv.FormatBool(rapid.Bool().Draw(m.T, key))
	case reflect.Int, reflect.Float64:
		return m.number(key, tag.Get("range"), of.Kind() == reflect.Int)
	}
	panic("enginetest: cannot make " + of.String())
}

func (m maker) number(key, bounds string, whole bool) string {
	low, high := -1000.0, 1000.0
	if bounds != "" {
		if n, err := fmt.Sscanf(bounds, "%g,%g", &low, &high); n != 2 {
			panic("enginetest: range " + bounds + ": " + err.Error())
		}
	}
	switch rapid.IntRange(0, 7).Draw(m.T, key+" at") {
	case 0:
		return strconv.FormatFloat(low, 'f', -1, 64)
	case 1:
		return strconv.FormatFloat(high, 'f', -1, 64)
	case 2, 3:
		if low <= 0 && high >= 0 {
			return "0"
		}
	}
	places := 4
	if whole {
		places = 0
	}
	scale := math.Pow10(places)
	return decimals(rapid.IntRange(int(math.Ceil(low*scale)), int(math.Floor(high*scale))).Draw(m.T, key), places)
}

func (m maker) text(key string) string {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "glue", "Flight 300", "½ in", "Zoë", "a \"quoted\" \\ name", "e\u0301", "矢"}),
		rapid.StringN(0, 8, 24),
	).Draw(m.T, key)
}

// key draws a figure of the whole build, or one that is given at a distance.
func (m maker) key(at bool) figure.Key {
	for {
		k := figure.Key(rapid.IntRange(0, int(figure.Count)-1).Draw(m.T, "figure"))
		if k.Definition().At == at {
			return k
		}
	}
}

func (m maker) windows() string {
	var pairs []pair
	for range rapid.IntRange(0, 3).Draw(m.T, "windows") {
		at := rapid.Bool().Draw(m.T, "at a distance")
		least := rapid.IntRange(-1000, 1000).Draw(m.T, "min")
		window := []pair{{"min", decimals(least, 2)}, {"max", decimals(least+rapid.IntRange(0, 1000).Draw(m.T, "wide"), 2)}}
		if at {
			window = append(window, pair{"distance_yd", "60"})
		}
		pairs = set(pairs, m.key(at).String(), written(window))
	}
	return written(pairs)
}

func decimals(scaled, places int) string {
	return strconv.FormatFloat(float64(scaled)/math.Pow10(places), 'f', places, 64)
}

func has(pairs []pair, key string) bool {
	for _, p := range pairs {
		if p.key == key {
			return true
		}
	}
	return false
}

func set(pairs []pair, key, value string) []pair {
	for i := range pairs {
		if pairs[i].key == key {
			pairs[i].value = value
			return pairs
		}
	}
	return append(pairs, pair{key, value})
}

func written(pairs []pair) string {
	texts := make([]string, len(pairs))
	for i, p := range pairs {
		texts[i] = strconv.Quote(p.key) + ":" + p.value
	}
	return "{" + strings.Join(texts, ",") + "}"
}
