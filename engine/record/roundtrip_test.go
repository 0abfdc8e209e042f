package record_test

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/enginetest"
	"foreshaft/engine/job"
	"foreshaft/engine/record"
)

// What was typed with a few decimals comes back as the same values, and equal
// values give equal bytes.
func TestEncodeThenDecodeIsIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first := enginetest.Job(t)
		written := first.Encode()
		second, err := job.DecodeBench(written)
		if err != nil {
			t.Fatalf("its own output is refused: %v\n%s", err, written)
		}
		if again := second.Encode(); !bytes.Equal(written, again) {
			t.Fatalf("written %s\nthen    %s", written, again)
		}
		if a, b := emptied(first), emptied(second); !reflect.DeepEqual(a, b) {
			t.Fatalf("the values changed on the way through\n%s", written)
		}
		var laidOut bytes.Buffer
		if err := json.Indent(&laidOut, written, "", "\t"); err != nil {
			t.Fatal(err)
		}
		third, err := job.DecodeBench(laidOut.Bytes())
		if err != nil || !third.Equal(first) {
			t.Fatalf("laid out for people it reads differently: %v", err)
		}
	})
}

// emptied returns the job with its empty lists as nil: a list that is empty and
// one that is left out are the same.
func emptied(j *job.Job) any {
	out := reflect.ValueOf(j.Clone()).Elem()
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.Struct:
			for i := range v.NumField() {
				walk(v.Field(i))
			}
		case reflect.Slice, reflect.Map:
			if v.Len() == 0 && v.CanSet() {
				v.SetZero()
			}
			if v.Kind() == reflect.Slice {
				for i := range v.Len() {
					walk(v.Index(i))
				}
			}
		}
	}
	walk(out)
	return out.Interface()
}

// FuzzDecode feeds anything to the decoder of a job file. What is read is
// written, and what was written is read and written as the same bytes.
func FuzzDecode(f *testing.F) {
	for _, name := range []string{"example.json", "full.json"} {
		data, err := os.ReadFile("../../testdata/jobs/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, text := range []string{
		"", "{", "null", "[]", `{"format":"foreshaft-job/1","builds":[]}`,
		`{"format":"foreshaft-job/1","builds":[],"limits":{"max_speed_fps":-0,"electronics":false}}`,
		`{"format":"foreshaft-job/1","builds":[],"air":{"temperature_c":1e-300}}`,
		`{"format":"foreshaft-job/1","builds":[],"search":{"where":{"foc":{"min":1e300},"FOC":{}}}}`,
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		j, err := job.DecodeBench(data)
		if err != nil {
			if refusal, ok := err.(*record.Error); !ok || refusal.Message == "" {
				t.Fatalf("refused with %T %q", err, err)
			}
			return
		}
		written := j.Encode()
		again, err := job.DecodeBench(written)
		if err != nil {
			t.Fatalf("its own output is refused: %v\n%s", err, written)
		}
		if second := again.Encode(); !bytes.Equal(written, second) {
			t.Fatalf("written %s\nthen    %s", written, second)
		}
	})
}
