package scpiserver

import "strings"

// Instrument is one SCPI instrument. It is not safe for concurrent use.
type Instrument struct {
	source Source
	layout Layout
	status status
	path   path
	reply  []string
}

// New returns an instrument in front of a source. Depth is that of its error
// queue; 0 means 16. Its power-on bit is set.
func New(source Source, layout Layout, depth int) *Instrument {
	if depth <= 0 {
		depth = defaultQueueDepth
	}
	return &Instrument{source: source, layout: layout, status: status{event: powerOn, depth: depth}}
}

// Execute carries out one line, without its terminator, and returns the line to
// answer, without one; "" means silence.
func (i *Instrument) Execute(line string) string {
	i.refresh()
	i.source.Heard()
	i.path, i.reply = nil, i.reply[:0]
	for _, text := range split(line, ';') {
		u, fault := parseUnit(text)
		if fault == noError && u.header != "" {
			fault = i.dispatch(u)
		} else if fault == noError && u.query {
			fault = syntaxError
		}
		i.status.report(fault)
	}
	return strings.Join(i.reply, ";")
}

// Overrun is a line that was too long for the input buffer.
func (i *Instrument) Overrun() { i.status.report(inputOverrun) }

// refresh takes over what the supply did since the last line.
func (i *Instrument) refresh() {
	if i.source.PoweredOn() {
		i.status = status{event: powerOn, depth: i.status.depth}
	}
	for _, own := range i.source.OwnErrors() {
		i.status.report(code(own))
	}
	i.observe()
}

func (i *Instrument) observe() {
	questionable, operation := i.layout.bits(i.source.Condition())
	i.status.questionable.follow(questionable)
	i.status.operation.follow(operation)
}

func (i *Instrument) answer(text string) { i.reply = append(i.reply, text) }

func (i *Instrument) dispatch(u unit) code {
	typed, left := i.path.resolve(u.header)
	for c := range commands {
		command := &commands[c]
		if !match(command.nodes, typed) {
			continue
		}
		i.path = left
		if u.query {
			return command.ask(i, u.parameters)
		}
		return command.tell(i, u.parameters)
	}
	return undefinedHeader
}

// command is one header: what it does, and what it answers as a query. A nil one is undefined.
type command struct {
	nodes []node
	set   func(*Instrument, []string) code
	query func(*Instrument, []string) code
}

func (c *command) tell(i *Instrument, parameters []string) code {
	if c.set == nil {
		return undefinedHeader
	}
	return c.set(i, parameters)
}

func (c *command) ask(i *Instrument, parameters []string) code {
	if c.query == nil {
		return undefinedHeader
	}
	return c.query(i, parameters)
}
