package profiles

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Answered puts answers into the text of a bench file, under set-up, and leaves every
// other line as it is. It is an error where the result would not read back as the same
// bench with these answers: then nothing is lost, and a person writes it.
func Answered(file string, data []byte, answers SetUp) ([]byte, error) {
	return edited(file, data, func(s *splice) error {
		for _, q := range Questions() {
			if a := q.Of(&answers); a != nil {
				if err := s.answer(q, *a); err != nil {
					return err
				}
			}
		}
		return nil
	}, func(b *Bench) {
		if b.SetUp == nil {
			b.SetUp = &SetUp{}
		}
		for _, q := range Questions() {
			if a := q.Of(&answers); a != nil {
				q.Give(b.SetUp, *a)
			}
		}
	})
}

// Checked adds a check to the text of a bench file, under checks, in the same way.
func Checked(file string, data []byte, c LoadCheck) ([]byte, error) {
	return edited(file, data, func(s *splice) error { return s.check(c) }, func(b *Bench) { b.Checks = append(b.Checks, c) })
}

// edited changes the text and proves that it says what it should.
func edited(file string, data []byte, change func(*splice) error, expect func(*Bench)) ([]byte, error) {
	want, err := ReadBench(file, data)
	if err != nil {
		return nil, err
	}
	expect(&want)
	s := newSplice(file, data)
	if err := change(s); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	out := s.bytes()
	got, err := ReadBench(file, out)
	if err == nil && !reflect.DeepEqual(got, want) {
		err = fmt.Errorf("the file would say something else than before")
	}
	if err != nil {
		return nil, fmt.Errorf("%s: it is laid out in a way that cannot be added to safely (%w): write the lines by hand", file, err)
	}
	return out, nil
}

// splice is a file as lines that are added to.
type splice struct {
	file  string
	lines []string // without their ends
	end   string   // of a line
}

func newSplice(file string, data []byte) *splice {
	s := &splice{file: file, end: "\n"}
	text := string(data)
	if strings.Contains(text, "\r\n") {
		s.end = "\r\n"
	}
	s.lines = strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	for i, line := range s.lines {
		s.lines[i] = strings.TrimSuffix(line, "\r")
	}
	return s
}

func (s *splice) bytes() []byte {
	return []byte(strings.Join(s.lines, s.end) + s.end)
}

// tree is the file as it stands now.
func (s *splice) tree() (*node, error) {
	r := &report{file: s.file}
	n := r.parse([]byte(strings.Join(s.lines, "\n") + "\n"))
	if n == nil || n.kind != mapping {
		return nil, fmt.Errorf("it is laid out in a way that cannot be added to safely: %w: write the lines by hand", r.err())
	}
	return n, nil
}

// block is a key with its value, as the lines from first up to past.
type block struct {
	value       *node
	first, past int
}

// find looks for a key of a map whose lines end before past.
func (s *splice) find(in *node, key string, past int) (block, bool) {
	for i, e := range in.entries {
		if e.key.text != key {
			continue
		}
		end := past
		if i+1 < len(in.entries) {
			end = in.entries[i+1].key.line - 1
		}
		return block{e.value, e.key.line - 1, s.trimmed(e.key.line, end)}, true
	}
	return block{}, false
}

// trimmed leaves blank lines and comments before the next key to that key.
func (s *splice) trimmed(least, past int) int {
	for past > least {
		line := strings.TrimSpace(s.lines[past-1])
		if line != "" && !strings.HasPrefix(line, "#") {
			break
		}
		past--
	}
	return past
}

// put places lines before a line.
func (s *splice) put(at int, lines ...string) {
	s.lines = slices.Insert(s.lines, at, lines...)
}

func indented(column int, lines ...string) []string {
	out := make([]string, len(lines))
	for i, line := range lines {
		out[i] = strings.Repeat(" ", column) + line
	}
	return out
}

// top finds a key of the file, or makes it at the end.
func (s *splice) top(key string) (block, error) {
	tree, err := s.tree()
	if err != nil {
		return block{}, err
	}
	if b, there := s.find(tree, key, len(s.lines)); there {
		return b, nil
	}
	if strings.TrimSpace(s.lines[len(s.lines)-1]) != "" {
		s.lines = append(s.lines, "")
	}
	s.lines = append(s.lines, key+":")
	return block{&node{kind: nothing}, len(s.lines) - 1, len(s.lines)}, nil
}
