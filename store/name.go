package store

import (
	"bytes"
	"errors"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
)

// nameWord finds a name in texts, in any capitals. A short one must be a word of its own,
// or everyday words would go; it may have the s of a genitive behind it. A longer one is
// found within longer words as well.
type nameWord struct {
	shape   *regexp.Regexp
	short   bool
	written *nameWord // the name as JSON writes it, where that is not the same
}

// shortName is how many letters a name has that could be a part of an everyday word.
const shortName = 5

func newNameWord(name string) *nameWord {
	out := shapeOf(name)
	if written := string(record.Encode(name)); written != `"`+name+`"` {
		out.written = shapeOf(written[1 : len(written)-1])
	}
	return out
}

func shapeOf(name string) *nameWord {
	words := strings.Fields(name)
	for i := range words {
		words[i] = regexp.QuoteMeta(words[i])
	}
	return &nameWord{shape: regexp.MustCompile(`(?i)` + strings.Join(words, `\s+`)), short: utf8.RuneCountInString(name) <= shortName}
}

// Names reports whether a text has the name of a customer in it, as Erase looks for it.
func Names(customer, text string) bool {
	customer = label.Clean(customer)
	return customer != "" && newNameWord(customer).in(text)
}

// Without returns a job with ErasedName in place of the name of a customer, as Erase
// leaves it.
func Without(customer string, j *job.Job) *job.Job {
	if customer = spaced(customer); customer == "" {
		return j
	}
	data, err := newNameWord(customer).outOfJSON(j.Encode())
	if err != nil { // it was written a moment ago
		panic("store: " + err.Error())
	}
	out, err := job.DecodeBench(data)
	if err != nil {
		return job.New()
	}
	return out
}

// places returns where the name stands in a text: the ends of each.
func (n *nameWord) places(text []byte) [][]int {
	var out [][]int
	for from := 0; from < len(text); {
		at := n.shape.FindIndex(text[from:])
		if at == nil {
			break
		}
		at[0], at[1] = at[0]+from, at[1]+from
		if n.stands(text, at) {
			out = append(out, at)
			from = at[1]
			continue
		}
		// It may begin again within what was no word of its own.
		_, size := utf8.DecodeRune(text[at[0]:])
		from = at[0] + size
	}
	return out
}

// stands reports whether what was found at a place is the name: a mark behind it would
// make its last letter another one, and a short name is a word of its own.
func (n *nameWord) stands(text []byte, at []int) bool {
	after, _ := utf8.DecodeRune(text[at[1]:])
	if unicode.In(after, unicode.Mn, unicode.Me) {
		return false
	}
	if !n.short {
		return true
	}
	if behind := text[at[1]:]; len(behind) > 0 && behind[0] == 's' {
		after, _ = utf8.DecodeRune(behind[1:])
	}
	before, _ := utf8.DecodeLastRune(text[:at[0]])
	first, _ := utf8.DecodeRune(text[at[0]:])
	last, _ := utf8.DecodeLastRune(text[:at[1]])
	return !(ofWord(before) && ofWord(first)) && !(ofWord(last) && ofWord(after))
}

func ofWord(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.In(r, unicode.Mn, unicode.Me))
}

func (n *nameWord) in(text string) bool { return len(n.places([]byte(text))) > 0 }

// out returns the text with ErasedName in place of the name.
func (n *nameWord) out(text string) string {
	var b strings.Builder
	from := 0
	for _, at := range n.places([]byte(text)) {
		b.WriteString(text[from:at[0]])
		b.WriteString(ErasedName)
		from = at[1]
	}
	return b.String() + text[from:]
}

// cut shortens a text to so many bytes, at the end of a letter.
func cut(text string, most int) string {
	for len(text) > most {
		_, size := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-size]
	}
	return text
}

// inFile reports whether the name is in the bytes of a file.
func (n *nameWord) inFile(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close() // it is only read
	const piece, overlap = 1 << 20, 4 << 10
	buffer := make([]byte, 0, piece+overlap)
	for first := true; ; first = false {
		read, err := io.ReadFull(f, buffer[len(buffer):len(buffer)+piece])
		buffer = buffer[:len(buffer)+read]
		last := errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
		found := n.places(buffer)
		if n.written != nil {
			found = append(found, n.written.places(buffer)...)
		}
		for _, at := range found {
			// Where a piece ends a word may go on; the overlap shows it whole.
			if (first || at[0] >= utf8.UTFMax) && (last || at[1] < len(buffer)-utf8.UTFMax) {
				return true, nil
			}
		}
		switch {
		case last:
			return false, nil
		case err != nil:
			return false, err
		}
		buffer = append(buffer[:0], buffer[max(len(buffer)-overlap, 0):]...)
	}
}

// ofFormat are the keys whose words belong to the format and not to a person.
var ofFormat = func() map[string]bool {
	out := map[string]bool{"format": true, "kind": true, "sort": true}
	for _, key := range slices.Concat(record.Choices[job.Job](), record.Choices[part.Part]()) {
		out[key] = true
	}
	return out
}()

// outOfJSON returns JSON with ErasedName in place of the name in every text. Texts that
// differ still differ afterwards: builds of one bench are told apart by their names.
func (n *nameWord) outOfJSON(data []byte) ([]byte, error) {
	taken, clean, found := map[string]bool{}, map[string]string{}, false
	_, err := eachText(data, func(text string) string {
		taken[text] = true
		found = found || n.in(text)
		return text
	})
	if err != nil || !found {
		return data, err
	}
	return eachText(data, func(text string) string {
		if !n.in(text) {
			return text
		}
		if _, known := clean[text]; !known {
			clean[text] = free(n.out(text), func(text string) bool { return taken[text] })
			taken[clean[text]] = true
		}
		return clean[text]
	})
}

// eachText returns JSON with every text in it, its keys and the words of the format left
// out, replaced by what do returns.
func eachText(data []byte, do func(string) string) ([]byte, error) {
	var out bytes.Buffer
	in, to := jsontext.NewDecoder(bytes.NewReader(data)), jsontext.NewEncoder(&out)
	key := ""
	for {
		kind, length := in.StackIndex(in.StackDepth())
		token, err := in.ReadToken()
		if errors.Is(err, io.EOF) {
			return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
		}
		if err != nil {
			return nil, err
		}
		if token.Kind() == '"' {
			switch text := token.String(); {
			case kind == '{' && length%2 == 0:
				key = text
			case !ofFormat[key]:
				token = jsontext.String(do(text))
			}
		}
		if err := to.WriteToken(token); err != nil {
			return nil, err
		}
	}
}
