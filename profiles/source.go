package profiles

import (
	"bytes"
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Bounds of a YAML file. A rack of hundreds of parts fits; without them the parser,
// whose time grows with the square of each, could be kept busy for minutes.
const (
	mostBytes = 64 << 10
	mostLines = 4000
	mostWidth = 1000 // characters of a line
	mostDepth = 32   // brackets in brackets
)

// parse turns the bytes of a file into a tree, or reports why it cannot and
// returns nil.
func (r *report) parse(data []byte) *node {
	text, ok := r.text(data, mostBytes)
	if !ok {
		return nil
	}
	if !r.bounded() {
		return nil
	}
	tokens := lexer.Tokenize(text)
	if !r.shallow(tokens) {
		return nil
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		r.syntax(err)
		return nil
	}
	return r.document(file)
}

// text accepts UTF-8 without control characters; the byte order mark that some
// editors write is dropped.
func (r *report) text(data []byte, most int) (string, bool) {
	return r.textWith(data, most, unreadable)
}

// textWith leaves it to strange what no line may have.
func (r *report) textWith(data []byte, most int, strange func(line string) (column int, what string)) (string, bool) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if len(data) > most {
		r.sayAt(1, 1, "the file has %d bytes; at most %d are read", len(data), most)
		return "", false
	}
	text := string(data)
	r.lines = strings.Split(text, "\n")
	for number, line := range r.lines {
		if column, what := strange(line); what != "" {
			r.sayAt(number+1, column, "%s", what)
			return "", false
		}
	}
	return text, true
}

// unreadable finds the first character of a line that no text file of ours holds.
func unreadable(line string) (column int, what string) {
	line = strings.TrimSuffix(line, "\r")
	for i, character := range line {
		column++
		switch {
		case character == utf8.RuneError && !strings.HasPrefix(line[i:], "\ufffd"):
			return column, "this is not UTF-8 text; save the file as UTF-8"
		case character == '\t' && strings.TrimLeft(line[:i], " ") == "" && strings.TrimSpace(line) != "":
			return column, "a tab indents this line; use spaces"
		case character > '~' && unicode.IsSpace(character) && strings.TrimLeft(line[:i], " ") == "":
			return column, "a character that only looks like a space indents this line; use spaces"
		case (character < ' ' && character != '\t') || character == 0x7f:
			return column, "there is a control character here; remove it"
		}
	}
	return 0, ""
}

// bounded refuses what would keep the parser busy.
func (r *report) bounded() bool {
	if len(r.lines) > mostLines {
		r.sayAt(mostLines+1, 1, "the file has %d lines; at most %d are read", len(r.lines), mostLines)
		return false
	}
	for number, line := range r.lines {
		if length := utf8.RuneCountInString(line); length > mostWidth {
			r.sayAt(number+1, mostWidth+1, "this line has %d characters; at most %d are read", length, mostWidth)
			return false
		}
	}
	return true
}

// shallow refuses towers of brackets before a recursive parser meets them.
func (r *report) shallow(tokens token.Tokens) bool {
	depth := 0
	for _, t := range tokens {
		switch t.Type {
		case token.MappingStartType, token.SequenceStartType:
			depth++
		case token.MappingEndType, token.SequenceEndType:
			depth--
		}
		if depth > mostDepth {
			r.sayAt(t.Position.Line, t.Position.Column, "brackets are nested more than %d deep", mostDepth)
			return false
		}
	}
	return true
}

func (r *report) syntax(err error) {
	var located yaml.Error
	if !errors.As(err, &located) || located.GetToken() == nil {
		r.sayAt(1, 1, "not readable as YAML: %v", err)
		return
	}
	position := located.GetToken().Position
	message := strings.ReplaceAll(located.GetMessage(), "\t", `\t`)
	further := strings.Count(strings.TrimSpace(located.GetToken().Origin), "\n") // a value that went on over several lines
	if strings.HasPrefix(message, "mapping value is not allowed") && further > 0 {
		r.sayAt(max(position.Line, 1)+further, 1, "not readable as YAML: %s; is this line indented too far?", message)
		return
	}
	r.sayAt(max(position.Line, 1), max(position.Column, 1), "not readable as YAML: %s", message)
}

// document takes the one document of a file.
func (r *report) document(file *ast.File) *node {
	var body ast.Node
	for i, document := range file.Docs {
		if i > 0 && (document.Start != nil || document.Body != nil) {
			r.second(document)
			return nil
		}
		body = document.Body
		if directive, ok := body.(*ast.DirectiveNode); ok {
			r.say(r.place(directive), "directives (%%) are not used in these files; remove the line")
			return nil
		}
	}
	if body == nil {
		r.sayAt(1, 1, "the file is empty")
		return nil
	}
	return r.node(body, "")
}

func (r *report) second(document *ast.DocumentNode) {
	at := r.place(document.Body)
	if document.Start != nil {
		at = &node{line: document.Start.Position.Line, column: document.Start.Position.Column}
	}
	r.say(at, "a second document begins here; one file holds one document")
}
