package scpiserver

import "strings"

// unit is one message unit: a header and its parameters.
type unit struct {
	header     string // as typed, without the question mark
	query      bool
	parameters []string
}

// split cuts text at a separator outside quoted strings.
func split(text string, separator byte) []string {
	var parts []string
	var quote byte
	begin := 0
	for i := range len(text) {
		switch c := text[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == separator:
			parts = append(parts, text[begin:i])
			begin = i + 1
		}
	}
	return append(parts, text[begin:])
}

// parseUnit reads one message unit. An empty one has no header.
func parseUnit(text string) (unit, code) {
	text = strings.TrimSpace(text)
	head, rest, spaced := cutSpace(text)
	u := unit{header: head}
	if before, is := strings.CutSuffix(head, "?"); is {
		u.header, u.query = before, true
	}
	if fault := checkHeader(u.header); fault != noError || text == "" {
		return u, fault
	}
	if !spaced {
		return u, noError
	}
	for _, parameter := range split(rest, ',') {
		parameter = strings.TrimSpace(parameter)
		if parameter == "" {
			return u, syntaxError
		}
		u.parameters = append(u.parameters, parameter)
	}
	return u, noError
}

func cutSpace(text string) (head, rest string, found bool) {
	at := strings.IndexAny(text, " \t")
	if at < 0 {
		return text, "", false
	}
	return text[:at], strings.TrimSpace(text[at+1:]), true
}

// checkHeader allows what a header can be written with.
func checkHeader(header string) code {
	for i := range len(header) {
		c := header[i]
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		digit := c >= '0' && c <= '9' || c == '_'
		if !letter && !digit && c != ':' && (c != '*' || i > 0) {
			return invalidCharacter
		}
	}
	return noError
}
