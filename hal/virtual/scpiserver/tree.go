package scpiserver

import "strings"

// node is one node of a header: its two legal forms, and whether it may be left out.
type node struct {
	short, long string
	optional    bool
}

// compile reads a header in the notation of the standard: capitals are the short
// form, brackets enclose what may be left out.
func compile(pattern string) []node {
	var nodes []node
	optional := false
	word := 0
	for i := 0; i <= len(pattern); i++ {
		if i < len(pattern) && !strings.ContainsRune("[]:", rune(pattern[i])) {
			continue
		}
		if i > word {
			text := pattern[word:i]
			nodes = append(nodes, node{short: capitals(text), long: strings.ToUpper(text), optional: optional})
		}
		if i < len(pattern) && pattern[i] != ':' {
			optional = pattern[i] == '['
		}
		word = i + 1
	}
	return nodes
}

func capitals(word string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' {
			return -1
		}
		return r
	}, word)
}

// match tells whether typed nodes, in capitals, are this header.
func match(nodes []node, typed []string) bool {
	if len(nodes) == 0 {
		return len(typed) == 0
	}
	first := nodes[0]
	if len(typed) > 0 && (typed[0] == first.short || typed[0] == first.long) && match(nodes[1:], typed[1:]) {
		return true
	}
	return first.optional && match(nodes[1:], typed)
}

// path is where a header without a leading colon starts from.
type path []string

// resolve gives the nodes of a typed header and the path that it leaves behind.
func (p path) resolve(header string) (typed []string, left path) {
	header = strings.ToUpper(header)
	if strings.HasPrefix(header, "*") {
		return []string{header}, p
	}
	if rest, root := strings.CutPrefix(header, ":"); root {
		typed = strings.Split(rest, ":")
	} else {
		typed = append(append([]string(nil), p...), strings.Split(header, ":")...)
	}
	return typed, typed[:len(typed)-1]
}
