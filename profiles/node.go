package profiles

import (
	"slices"

	"github.com/goccy/go-yaml/ast"
)

// node is a value of a file and the place where it stands.
type node struct {
	kind    nodeKind
	key     string // the key that it belongs to, "" at the top and in lists
	text    string // of a scalar
	entries []entry
	items   []*node
	line    int
	column  int
}

type nodeKind uint8

const (
	scalar nodeKind = iota
	nothing
	mapping
	list
	refused // already reported
)

func (k nodeKind) String() string {
	return [...]string{"a single value", "no value", "a map of keys", "a list", "a value of no use here"}[k]
}

// refused tells whether a part of a value was reported before any table read it.
func (n *node) refused() bool {
	return n.kind == refused || slices.ContainsFunc(n.items, (*node).refused) ||
		slices.ContainsFunc(n.entries, func(e entry) bool { return e.key.refused() || e.value.refused() })
}

// entry is a key of a map and its value. A key has no text where it is no plain word.
type entry struct{ key, value *node }

// node makes our own small tree of what the parser found, without what these files
// do not use: anchors, aliases, tags, merge keys.
func (r *report) node(from ast.Node, key string) *node {
	n := r.place(from)
	n.key = key
	switch v := from.(type) {
	case *ast.MappingNode:
		n.kind = mapping
		n.entries = r.entries(v.Values)
		if len(n.entries) > 0 && v.GetToken().Value != "{" {
			n.line, n.column = n.entries[0].key.line, n.entries[0].key.column
		}
	case *ast.MappingValueNode:
		n.kind = mapping
		n.entries = r.entries([]*ast.MappingValueNode{v})
		n.line, n.column = n.entries[0].key.line, n.entries[0].key.column
	case *ast.SequenceNode:
		n.kind = list
		for _, item := range v.Values {
			n.items = append(n.items, r.node(item, key))
		}
	default:
		r.scalar(n, from)
	}
	return n
}

func (r *report) entries(values []*ast.MappingValueNode) []entry {
	entries := make([]entry, 0, len(values))
	for _, value := range values {
		key := r.node(value.Key, "")
		entries = append(entries, entry{key, r.node(value.Value, key.text)})
	}
	return entries
}

func (r *report) scalar(n *node, from ast.Node) {
	n.kind = scalar
	switch v := from.(type) {
	case *ast.NullNode:
		n.kind = nothing
		n.text = v.GetToken().Value
	case *ast.LiteralNode:
		n.text = v.Value.Value
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		r.say(n, "anchors and aliases (&, *, <<) are not used in these files; write the value out")
		n.kind = refused
	case *ast.TagNode:
		r.say(n, "tags (!) are not used in these files; write the value without %q", v.GetToken().Value)
		n.kind = refused
	case *ast.MappingKeyNode:
		r.say(n, `a key written with "?" is not used in these files; write "key: value"`)
		n.kind = refused
	default:
		n.text = from.GetToken().Value
	}
}

func (r *report) place(from ast.Node) *node {
	if from == nil || from.GetToken() == nil || from.GetToken().Position == nil {
		return &node{line: 1, column: 1}
	}
	position := from.GetToken().Position
	return &node{line: max(position.Line, 1), column: max(position.Column, 1)}
}
