package plan

import (
	"fmt"
	"strconv"

	"anodized/profiles"
)

// staleAfter is how many days a ladder is trusted: common practice, no source.
const staleAfter = 30

// AgeInDays is how many days lie between two dates, year-month-day; not known where one
// of them is none. A date that is still to come gives a negative age.
func AgeInDays(date, today string) (days int, known bool) {
	from, ok1 := dayNumber(date)
	to, ok2 := dayNumber(today)
	return to - from, ok1 && ok2
}

// dayNumber counts days in the Gregorian calendar (Fliegel and van Flandern, Comm. ACM 11
// (1968) 657, from memory). The calendar of the standard library is next to its clock,
// which has no place here.
func dayNumber(date string) (int, bool) {
	if len(date) != len("2026-03-02") || date[4] != '-' || date[7] != '-' {
		return 0, false
	}
	y, err1 := strconv.Atoi(date[:4])
	m, err2 := strconv.Atoi(date[5:7])
	d, err3 := strconv.Atoi(date[8:])
	if err1 != nil || err2 != nil || err3 != nil || m < 1 || m > 12 || d < 1 || d > 31 {
		return 0, false
	}
	a := (m - 14) / 12
	return 1461*(y+4800+a)/4 + 367*(m-2-12*a)/12 - 3*((y+4900+a)/100)/4 + d - 32075, true
}

// stale is why a calibration is no longer to be trusted; "" where nothing speaks against
// it, or nothing is known.
func (k Key) stale(c profiles.Calibration) string {
	age, known := AgeInDays(c.Date, k.Today)
	since, told := AgeInDays(c.Date, k.Renewed)
	switch {
	case told && since > 0:
		return fmt.Sprintf("the bath was made up anew on %s, %d days after its ladder of %s", k.Renewed, since, c.Date)
	case known && age > staleAfter:
		return fmt.Sprintf("its ladder of %s is %d days old, and baths drift: more than %d are too many (common practice)", c.Date, age, staleAfter)
	case known && age < -1:
		return fmt.Sprintf("its ladder is of %s, which is still to come: a clock is or was wrong", c.Date)
	}
	return ""
}
