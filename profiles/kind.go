package profiles

import (
	"errors"
	"fmt"
	"strings"
)

// The kinds of file that [Kind] tells apart.
const (
	KindProfile     = "profile"
	KindRack        = "rack"
	KindMetal       = "metal"
	KindBath        = "bath"
	KindCalibration = "calibration"
	KindBench       = "bench"
	KindDaemon      = "daemon"
	KindMaster      = "master"
	KindLadder      = "ladder"
	KindCurve       = "curve"    // CSV: t_s,volts,amperes
	KindReadings    = "readings" // CSV: volts,L,a,b
	KindCGATS       = "CGATS.17 readings"
	KindCxF         = "CxF3 readings"
)

// signs are the keys that a kind of file has at its top.
type signs struct {
	kind string
	keys []string
}

func allSigns() []signs {
	r := &report{}
	return []signs{
		{KindProfile, keysOf(profileFields(r, new(Profile)))},
		{KindRack, keysOf(rackFields(new(Rack)))},
		{KindMetal, keysOf(metalFields(r, new(Metal)))},
		{KindBath, keysOf(bathFields(new(Bath)))},
		{KindCalibration, keysOf(calibrationFields(r, new(Calibration)))},
		{KindBench, keysOf(benchFields(new(Bench)))},
		{KindDaemon, keysOf(daemonFields(new(Daemon)))},
		{KindMaster, keysOf(masterFields(r, new(Master)))},
		{KindLadder, keysOf(ladderFields(r, new(Ladder)))},
	}
}

// Kind tells from the content what a file is. The error is [Mistakes]: the file
// cannot be read at all, or is none of ours.
func Kind(file string, content []byte) (string, error) {
	switch kind := kindOfCSV(content); {
	case kind != "":
		return kind, nil
	case isCxF(content):
		return KindCxF, nil
	case isCGATS(content):
		return KindCGATS, nil
	}
	r := &report{file: file}
	n := r.parse(content)
	if n == nil {
		return "", r.err()
	}
	if kind := kindOfKeys(n); kind != "" {
		return kind, nil
	}
	r.say(n, "this is no file of ours: %s", kindsInWords)
	return "", r.err()
}

const kindsInWords = "a profile has target, ramp and end; a rack has parts; a metal has growth; a bath has solute; " +
	"a calibration has nm per volt; a bench has supply and interlock; a daemon has listen and credentials; a ladder has coupons; a master has Lab and limits; a curve begins with t_s,volts,amperes; readings begin with volts,L,a,b"

// kindOfKeys takes the kind that knows most of the keys; a key that is nearly right
// counts half.
func kindOfKeys(n *node) string {
	best, found := 1, ""
	for _, s := range allSigns() {
		if score := s.score(n); score > best {
			best, found = score, s.kind
		}
	}
	return found
}

func (s signs) score(n *node) int {
	score := 0
	for _, e := range n.entries {
		switch {
		case contains(s.keys, e.key.text):
			score += 2
		case nearest(e.key.text, s.keys) != "":
			score++
		}
	}
	return score
}

func contains(words []string, wanted string) bool {
	for _, word := range words {
		if word == wanted {
			return true
		}
	}
	return false
}

func kindOfCSV(content []byte) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(string(content[:min(len(content), 400)]), "\ufeff"), "\n")
	columns := strings.Split(strings.TrimSpace(first), ",")
	switch {
	case strings.ContainsAny(first, ":#{"):
		return ""
	case contains(columns, "t_s") || (contains(columns, "volts") && contains(columns, "amperes")):
		return KindCurve
	case contains(columns, "volts") && len(columns) > 1, contains(columns, "L") && contains(columns, "a") && contains(columns, "b"):
		return KindReadings
	}
	return ""
}

// Check reads a file as what it is, with the files of the shop that it names. The
// error is [Mistakes], all of them; the kind is "" where it cannot be told.
func Check(file string, content []byte) (string, error) {
	kind, err := Kind(file, content)
	switch kind {
	case KindProfile:
		err = checkProfile(file, content)
	case KindRack:
		_, err = ReadRack(file, content)
	case KindMetal:
		_, err = ReadMetal(file, content)
	case KindBath:
		_, err = ReadBath(file, content)
	case KindCalibration:
		_, err = ReadCalibration(file, content)
	case KindBench:
		_, err = ReadBench(file, content)
	case KindDaemon:
		_, err = ReadDaemon(file, content)
	case KindLadder:
		_, err = ReadLadder(file, content)
	case KindMaster:
		_, err = ReadMaster(file, content)
	case KindCurve:
		_, err = ReadCurve(file, content)
	case KindReadings, KindCGATS, KindCxF:
		_, err = ReadReadings(file, content)
	}
	return kind, err
}

// checkProfile also follows the paths that a profile names.
func checkProfile(file string, content []byte) error {
	p, err := ReadProfile(file, content)
	if err != nil {
		return err
	}
	var mistakes Mistakes
	if err := p.linked(file); err != nil && !errors.As(err, &mistakes) {
		return Mistakes{{File: file, Line: 1, Column: 1, Message: err.Error()}}
	}
	if len(mistakes) > 0 {
		return Mistakes{{File: file, Line: 1, Column: 1, Message: fmt.Sprintf("a file that it names is wrong: %s", mistakes[0])}}
	}
	return nil
}
