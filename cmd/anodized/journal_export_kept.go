package main

import (
	"bufio"
	"errors"
	"os"
	"path/filepath"

	"anodized/controller/journal"
)

// addKept writes what the journal keeps beside the runs, the oldest first. What is
// damaged is remembered.
func (done *exported) addKept(reader *journal.Reader) error {
	calibrations, err1 := reader.Calibrations()
	readings, err2 := reader.Readings("")
	areas, err3 := reader.AdoptedAreas("")
	strips, err4 := reader.Strips("")
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil && !errors.Is(err, journal.ErrDamaged) {
			return err
		}
		if err != nil {
			done.Damaged = append(done.Damaged, journal.Problem{Entry: "beside the runs", Message: err.Error()})
		}
	}
	return errors.Join(
		writeLines(done, "calibrations.jsonl", oldestFirst(calibrations), &done.Kept.Calibrations, err1),
		writeLines(done, "readings.jsonl", readings, &done.Kept.Readings, err2),
		writeLines(done, "areas.jsonl", oldestFirst(areas), &done.Kept.Areas, err3),
		writeLines(done, "strips.jsonl", strips, &done.Kept.Strips, err4))
}

func oldestFirst[T any](newest []T) []T {
	var all []T
	for i := len(newest) - 1; i >= 0; i-- {
		all = append(all, newest[i])
	}
	return all
}

// writeLines writes an object a line, into no file where there is none or where they
// are damaged.
func writeLines[T any](done *exported, name string, all []T, count *int, damaged error) error {
	if len(all) == 0 || damaged != nil {
		return nil
	}
	file, err := os.OpenFile(filepath.Join(done.Folder, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(file)
	for _, one := range all {
		if err = errors.Join(err, printJSON(out, one)); err == nil {
			*count++
		}
	}
	return errors.Join(err, out.Flush(), file.Sync(), file.Close())
}
