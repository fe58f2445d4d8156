package profiles

import (
	"slices"
	"strings"
)

// field is one key of a map: what it is called, whether it must be there, and how
// its value is read. The tables of fields are the schema of our files: unknown
// keys, positions, ranges and examples all come from them.
type field struct {
	key     string
	example string // of a needed key: what a message offers
	needed  bool
	read    reader
}

// reader reads a value and reports what is wrong with it.
type reader func(r *report, n *node)

func need(key, example string, read reader) field { return field{key, example, true, read} }
func may(key string, read reader) field           { return field{key: key, read: read} }

func keysOf(fields []field) []string {
	keys := make([]string, len(fields))
	for i, f := range fields {
		keys[i] = f.key
	}
	return keys
}

// given are the keys that a map has: all of them, those whose value was read without
// a mistake, and those that an unknown key was probably meant to be.
type given struct {
	seen, good map[string]*node
	meant      map[string]bool
}

func (g given) has(key string) bool { return g.seen[key] != nil }

func (g given) present(keys []string) []string {
	return slices.DeleteFunc(slices.Clone(keys), func(key string) bool { return !g.has(key) })
}

// all tells whether each of these was given and read well, so that they can be
// compared with each other.
func (g given) all(keys ...string) bool {
	for _, key := range keys {
		if g.good[key] == nil {
			return false
		}
	}
	return true
}

// fields reads a map by its table. What is a noun with its article: "a profile".
func (r *report) fields(n *node, what string, table []field) given {
	g := given{map[string]*node{}, map[string]*node{}, map[string]bool{}}
	if !r.is(n, mapping, what) {
		return g
	}
	for _, e := range n.entries {
		r.entry(e, what, table, g)
	}
	for _, f := range table {
		if f.needed && !g.has(f.key) && !g.meant[f.key] {
			r.say(n, "missing key %q in %s, such as \"%s: %s\"", f.key, what, f.key, f.example)
		}
	}
	return g
}

func (r *report) entry(e entry, what string, table []field, g given) {
	if e.key.kind == refused {
		return
	}
	f, ok := find(table, e.key.text)
	if !ok {
		keys := keysOf(table)
		g.meant[nearest(e.key.text, keys)] = true
		r.say(e.key, "unknown key %q in %s%s allowed: %s", brief(e.key.text), what,
			endSentence(didYouMean(e.key.text, keys)), strings.Join(keys, ", "))
		return
	}
	if first := g.seen[f.key]; first != nil {
		r.say(e.key, "key %q stands twice in %s; it was given in line %d already", f.key, what, first.line)
		return
	}
	g.seen[f.key] = e.value
	before := len(r.mistakes)
	f.read(r, e.value)
	if len(r.mistakes) == before && !e.value.refused() {
		g.good[f.key] = e.value
	}
}

func endSentence(s string) string {
	if s == "" {
		return ";"
	}
	return s
}

func find(table []field, key string) (field, bool) {
	for _, f := range table {
		if f.key == key {
			return f, true
		}
	}
	return field{}, false
}

// is demands a kind of node.
func (r *report) is(n *node, kind nodeKind, what string) bool {
	switch {
	case n.kind == kind:
		return true
	case n.kind == refused:
	case n.kind == nothing:
		r.say(n, "%s%s is needed%s; found no value%s", prefix(n), what, written(kind), r.hashHint(n))
	default:
		r.say(n, "%s%s is needed%s; found %s", prefix(n), what, written(kind), n.kind)
	}
	return false
}

// written says how a map is written, which not everybody knows.
func written(kind nodeKind) string {
	if kind == mapping {
		return ", written as keys with values"
	}
	return ""
}

// hashHint explains the commonest reason of a lost value.
func (r *report) hashHint(n *node) string {
	if n.line > len(r.lines) || !strings.Contains(r.lines[n.line-1], "#") {
		return ""
	}
	return "; # begins a comment: put the value in quotes"
}

func prefix(n *node) string {
	if n.key == "" {
		return ""
	}
	return n.key + ": "
}

// exactlyOne reports a map that has none, or more than one, of these keys, and
// tells whether it had one.
func (r *report) exactlyOne(n *node, g given, what string, keys ...string) bool {
	present := g.present(keys)
	switch {
	case n.kind != mapping:
		return false
	case len(present) == 0 && slices.ContainsFunc(keys, func(key string) bool { return g.meant[key] }):
	case len(present) == 0:
		r.say(n, "%s needs exactly one of: %s", what, strings.Join(keys, ", "))
	case len(present) > 1:
		r.say(last(g, present), "%s has %s; exactly one of these is needed: %s", what, strings.Join(present, " and "), strings.Join(keys, ", "))
	}
	return len(present) == 1
}

// last is the one of these values that stands furthest down.
func last(g given, keys []string) *node {
	furthest := g.seen[keys[0]]
	for _, key := range keys {
		n := g.seen[key]
		if n.line > furthest.line || (n.line == furthest.line && n.column > furthest.column) {
			furthest = n
		}
	}
	return furthest
}

// lastOf is the last of these that was given.
func lastOf(g given, keys ...string) *node {
	return last(g, g.present(keys))
}

func brief(s string) string {
	const most = 40
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "..."
	}
	return s
}
