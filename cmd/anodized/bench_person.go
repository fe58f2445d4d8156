package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// person is who types at standard input, a line at a time.
type person struct {
	in    io.Reader
	out   io.Writer
	lines chan string // closed at the end of the input; nil before anybody was asked
}

var errNobody = errors.New("standard input has ended: nobody answers")

func newPerson(e env) *person { return &person{in: e.stdin, out: e.stderr} }

// present tells whether a real terminal is there, and not a script.
func (p *person) present() bool {
	file, is := p.in.(*os.File)
	return is && isTerminal(file)
}

// ask shows a question and waits for a line, or for the end of ctx.
func (p *person) ask(ctx context.Context, question string) (string, error) {
	if p.in == nil {
		return "", errNobody
	}
	if p.lines == nil {
		p.lines = make(chan string)
		go p.listen()
	}
	if _, err := fmt.Fprint(p.out, question); err != nil {
		return "", err
	}
	select {
	case line, open := <-p.lines:
		if !open {
			return "", errNobody
		}
		return strings.TrimSpace(line), nil
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// listen reads until the input ends. It may outlive the command: a read of a terminal
// cannot be ended.
func (p *person) listen() {
	defer close(p.lines)
	input := bufio.NewScanner(p.in)
	for input.Scan() {
		p.lines <- input.Text()
	}
}
