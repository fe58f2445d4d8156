package profiles

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"anodized/hal/unit"
)

// SetUp is what no reading of a bench tells, as a person answered it. An answer that is
// nil was not given, and narrows what the bench may do.
type SetUp struct {
	Isolation     *Answer `json:"isolation,omitempty"`
	Ripple        *Answer `json:"ripple,omitempty"`
	MainsReturn   *Answer `json:"mains_return,omitempty"`
	LostHostTimer *Answer `json:"lost_host_timer,omitempty"`
	Contactor     *Answer `json:"contactor,omitempty"`
	Bleed         *Answer `json:"bleed_resistor,omitempty"`
	Measured      *Answer `json:"voltage_measured,omitempty"`
}

// Answer is one answer and the day it was given on. It is a word, or a value in the
// unit of its question.
type Answer struct {
	Date  string  `json:"date"`
	Word  string  `json:"answer,omitempty"`
	Value float64 `json:"value,omitempty"`
	How   string  `json:"how,omitempty"` // of isolation: how it was tested; of the bleed resistor: through what
}

// Is tells whether the question was answered with this word.
func (a *Answer) Is(word string) bool { return a != nil && a.Word == word }

// Measure is the value of an answer that is no word.
func (a *Answer) Measure() (value float64, is bool) {
	if a == nil || a.Word != "" {
		return 0, false
	}
	return a.Value, true
}

// The words of the answers.
const (
	NotKnown    = "not known"
	Isolated    = "isolated"
	NotIsolated = "not isolated"
	NotMeasured = "not measured"
	None        = "none"
	Halted      = "halted"
	CellSide    = "cell side"
	SupplySide  = "supply side"

	ThroughContactor = "contactor"
	ThroughAlways    = "always"
)

// Question is one question of the set-up: its key in the file and what may be said.
type Question struct {
	Key         string
	Asks        string // to a person
	Why         string
	Words       []string
	Symbol      string  // of a value, "" where only words answer
	Least, Most float64 // of a value
	Example     string  // of a value
	How         string  // the key of what belongs to the answer, "" for none
	HowAsks     string
	HowWords    []string // nil: any text
	HowFor      string   // the word that needs it; "" where a value does
	of          func(*SetUp) **Answer
}

const lostHostQuestion = "lost-host timer"

// Questions are all questions, in the order in which they are asked.
func Questions() []Question {
	return []Question{
		{Key: "isolation", Asks: "Is the output isolated from the mains and from earth?", Why: "without isolation the bath is the mains",
			Words: []string{Isolated, NotIsolated, NotKnown}, How: "tested", HowFor: Isolated,
			HowAsks: "How was that tested, such as: ohmmeter from + and from - to earth, no path",
			of:      func(s *SetUp) **Answer { return &s.Isolation }},
		{Key: "ripple", Asks: "What ripple does the output have under load, peak to peak?", Why: "colour follows the peak, the meter shows the mean",
			Words: []string{NotMeasured}, Symbol: unit.Symbol[unit.Volts](), Most: 100, Example: "0.4 V", of: func(s *SetUp) **Answer { return &s.Ripple }},
		{Key: "mains return", Asks: "What does the output do when the mains fail and return while it is on? Try it.", Why: "a bath must not come to life by itself",
			Words: []string{Halted, "as before", "energised", NotKnown}, of: func(s *SetUp) **Answer { return &s.MainsReturn }},
		{Key: lostHostQuestion, Asks: "After how long without a word from the computer does the supply switch off by itself?", Why: "it is what is left when this computer dies",
			Words: []string{None, NotKnown}, Symbol: unit.Symbol[unit.Seconds](), Least: 0.1, Most: 3600, Example: "5 s", of: func(s *SetUp) **Answer { return &s.LostHostTimer }},
		{Key: "contactor", Asks: "Which pole of the output does the contactor break?", Why: "it removes the power without the supply's help",
			Words: []string{"both poles", "plus pole", "minus pole", None, NotKnown}, of: func(s *SetUp) **Answer { return &s.Contactor }},
		{Key: "bleed resistor", Asks: "What bleed resistor lies across the cell?", Why: "the film keeps its charge when the output is off",
			Words: []string{None, NotKnown}, Symbol: unit.Symbol[unit.Ohms](), Least: 1, Most: 1e6, Example: "1000 ohm", How: "through",
			HowAsks: "Is it there through the contactor's normally-closed contact, or always?", HowWords: []string{ThroughContactor, ThroughAlways},
			of: func(s *SetUp) **Answer { return &s.Bleed }},
		{Key: "voltage measured", Asks: "On which side of the contactor are the volts measured that the program reads?", Why: "an open contactor cuts the cell off from the supply's meter",
			Words: []string{CellSide, SupplySide, NotKnown}, of: func(s *SetUp) **Answer { return &s.Measured }},
	}
}

// Of is the answer to a question, nil where there is none.
func (q Question) Of(s *SetUp) *Answer {
	if s == nil {
		return nil
	}
	return *q.of(s)
}

// Give puts an answer in its place.
func (q Question) Give(s *SetUp, a Answer) { *q.of(s) = &a }

// Read reads the answer of a person: one of the words, or a value with its unit.
func (q Question) Read(text string) (Answer, error) {
	text = strings.TrimSpace(text)
	if slices.Contains(q.Words, text) {
		return Answer{Word: text}, nil
	}
	if q.Symbol == "" {
		return Answer{}, fmt.Errorf("%q is no answer%s allowed: %s", brief(text), endSentence(didYouMean(text, q.Words)), strings.Join(q.Words, ", "))
	}
	value, err := q.value(text)
	if err != nil {
		return Answer{}, fmt.Errorf("%w; or: %s", err, strings.Join(q.Words, ", "))
	}
	return Answer{Value: value}, nil
}

func (q Question) value(text string) (float64, error) {
	switch q.Symbol {
	case unit.Symbol[unit.Volts]():
		v, err := unit.ParseWithin(text, unit.Volts(q.Least), unit.Volts(q.Most))
		return float64(v), err
	case unit.Symbol[unit.Seconds]():
		v, err := unit.ParseWithin(text, unit.Seconds(q.Least), unit.Seconds(q.Most))
		return float64(v), err
	}
	v, err := unit.ParseWithin(text, unit.Ohms(q.Least), unit.Ohms(q.Most))
	return float64(v), err
}

// ReadHow reads what belongs to an answer.
func (q Question) ReadHow(text string) (string, error) {
	text = strings.TrimSpace(text)
	switch {
	case q.HowWords != nil && !slices.Contains(q.HowWords, text):
		return "", fmt.Errorf("%q is no answer%s allowed: %s", brief(text), endSentence(didYouMean(text, q.HowWords)), strings.Join(q.HowWords, ", "))
	case utf8.RuneCountInString(text) > longestHow:
		return "", fmt.Errorf("the text has %d characters; at most %d are allowed", utf8.RuneCountInString(text), longestHow)
	case strings.ContainsFunc(text, unicode.IsControl):
		return "", fmt.Errorf("the text has a control character")
	}
	return text, nil
}

// Choices are what may be answered, for a person.
func (q Question) Choices() string {
	words := strings.Join(q.Words, ", ")
	if q.Symbol == "" {
		return words
	}
	return "such as " + q.Example + "; or: " + words
}

// NeedsHow tells whether an answer needs what belongs to it.
func (q Question) NeedsHow(a Answer) bool { return q.How != "" && a.Word == q.HowFor }

// Say is an answer as a person reads and writes it.
func (q Question) Say(a *Answer) string {
	switch {
	case a == nil:
		return "not answered"
	case a.Word != "":
		return a.Word
	}
	return strconv.FormatFloat(a.Value, 'f', -1, 64) + " " + q.Symbol
}
