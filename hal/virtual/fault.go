package virtual

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// AllParts stands for every part of the rack where a fault names one.
const AllParts = -1

// Fault is one line of the timetable. Zero values of For, Size and Part mean the
// defaults of its kind.
type Fault struct {
	ID      string
	At      Moment
	For     time.Duration // 0: the kind's own, or Forever where answers are counted; Forever: never ends
	Size    float64       // in the kind's own unit
	Part    int           // 1 is the first; AllParts
	Answers int           // of a fault that spoils answers: how many; 0: all of its time
}

// Forever is the duration of a fault that does not end with time.
const Forever = time.Duration(math.MaxInt64)

// ParseFault reads ID, ID@MOMENT and options: contact-lost@35V,part=2,for=3s,size=0.5.
// Without a moment it begins with the bench; a contact that is lost needs one.
func ParseFault(text string) (Fault, error) {
	head, options, more := strings.Cut(text, ",")
	id, moment, timed := strings.Cut(head, "@")
	f := Fault{ID: strings.TrimSpace(id)}
	if _, known := kindOf(f.ID); !known {
		return Fault{}, fmt.Errorf("fault %q: allowed are %s", f.ID, strings.Join(idsOf(func(kind) bool { return true }), ", "))
	}
	if !timed && f.ID == "contact-lost" {
		return Fault{}, fmt.Errorf("fault %q: a moment is needed, such as contact-lost@35V; a part that never has contact is part-missing", f.ID)
	}
	if timed {
		at, err := ParseMoment(moment)
		if err != nil {
			return Fault{}, fmt.Errorf("fault %q: %w", f.ID, err)
		}
		f.At = at
	}
	if !more {
		return f, nil
	}
	for option := range strings.SplitSeq(options, ",") {
		if err := f.option(option); err != nil {
			return Fault{}, fmt.Errorf("fault %q: %w", f.ID, err)
		}
	}
	return f, nil
}

func (f *Fault) option(text string) error {
	name, value, _ := strings.Cut(text, "=")
	value = strings.TrimSpace(value)
	switch strings.TrimSpace(name) {
	case "for":
		return f.lasting(value)
	case "size":
		return f.sized(value)
	case "part":
		return f.onPart(value)
	case "answers":
		return f.counted(value)
	}
	return fmt.Errorf("option %q: allowed are for=2s, size=NUMBER, part=NUMBER, part=all and answers=NUMBER", text)
}

func (f *Fault) counted(value string) error {
	answers, err := strconv.Atoi(value)
	if k, _ := kindOf(f.ID); !k.spoils {
		return fmt.Errorf("answers=%s: allowed only for what spoils answers: %s", value, strings.Join(spoilers(), ", "))
	}
	if err != nil || answers < 1 || answers > mostAnswers {
		return fmt.Errorf("answers=%s: a number from 1 to %d is needed", value, mostAnswers)
	}
	f.Answers = answers
	return nil
}

func (f *Fault) lasting(value string) error {
	if value == "ever" {
		f.For = Forever
		return nil
	}
	seconds, err := parseSeconds(value)
	if err != nil || seconds < 1e-6 {
		return fmt.Errorf("for=%s: a time like 2s or 300ms is needed, or ever", value)
	}
	f.For = time.Duration(seconds * float64(time.Second))
	return nil
}

func (f *Fault) sized(value string) error {
	size, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsNaN(size) || math.Abs(size) > 1e9 || size == 0 {
		return fmt.Errorf("size=%s: a number other than 0 is needed", value)
	}
	f.Size = size
	return nil
}

func (f *Fault) onPart(value string) error {
	if value == "all" {
		f.Part = AllParts
		return nil
	}
	part, err := strconv.Atoi(value)
	if err != nil || part < 1 || part > mostParts {
		return fmt.Errorf("part=%s: a number from 1 to %d is needed, or all", value, mostParts)
	}
	f.Part = part
	return nil
}

// String writes a fault as [ParseFault] reads it.
func (f Fault) String() string {
	text := f.ID + "@" + f.At.String()
	switch {
	case f.For == Forever:
		text += ",for=ever"
	case f.For > 0:
		text += ",for=" + strconv.FormatFloat(f.For.Seconds(), 'f', -1, 64) + "s"
	}
	if f.Size != 0 {
		text += ",size=" + strconv.FormatFloat(f.Size, 'g', -1, 64)
	}
	switch {
	case f.Part == AllParts:
		text += ",part=all"
	case f.Part > 0:
		text += ",part=" + strconv.Itoa(f.Part)
	}
	if f.Answers > 0 {
		text += ",answers=" + strconv.Itoa(f.Answers)
	}
	return text
}

// armed is a fault that waits for its moment, acts, or is over.
type armed struct {
	Fault
	kind  *kind
	phase phase
	since float64 // s of the bench
	until float64 // s of the bench
	next  float64 // s of the bench, of a fault that acts again and again
	from  float64 // s of the bench, where Start counts from
	ohms  float64 // the cell's resistance when a breakdown began
	spent int     // answers that it has spoilt
}

type phase uint8

const (
	waiting phase = iota
	acting
	over
)
