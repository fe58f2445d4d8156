package journal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"
)

// A start looks the file over quickly; once a week every byte of it is read, in the
// background, a while after the start, so that a short program is not held up by it.
const (
	wholeCheckEvery = 7 * 24 * time.Hour
	wholeCheckAfter = time.Minute
)

func checkedPath(path string) string { return path + ".checked" }
func unsoundPath(path string) string { return path + ".unsound" }

// checkDue tells whether the last whole look is a week old, or not known, or dated later
// than now, as after a clock that was wrong.
func checkDue(path string, now time.Time) bool {
	text, err := os.ReadFile(checkedPath(path))
	if err != nil {
		return true
	}
	last, err := time.Parse(time.RFC3339, strings.TrimSpace(string(text)))
	return err != nil || now.Sub(last) >= wholeCheckEvery || last.After(now.Add(24*time.Hour))
}

func noteChecked(path string, now time.Time) error {
	return writeDurable(checkedPath(path), []byte(now.UTC().Format(time.RFC3339)+"\n"))
}

// checkWeekly looks at the whole file where that is due. It ends with the context.
func (j *Journal) checkWeekly(ctx context.Context) {
	defer close(j.checked)
	if !checkDue(j.path, j.options.Now()) {
		return
	}
	wait := time.NewTimer(wholeCheckAfter)
	defer wait.Stop()
	select {
	case <-wait.C:
	case <-ctx.Done():
		return
	}
	if err := j.checkWhole(ctx); err != nil && ctx.Err() == nil {
		j.unsound.Store(&err)
	}
}

// checkWhole reads every byte. What it finds wrong is left beside the file, for the next
// start to set it aside: this one goes on without beginning another run.
func (j *Journal) checkWhole(ctx context.Context) error {
	wrong, err := wholeLook(ctx, j.path)
	if damaged(err) {
		wrong, err = err.Error(), nil
	}
	switch {
	case err != nil:
		return err
	case wrong == "":
		return noteChecked(j.path, j.options.Now())
	}
	err = fmt.Errorf("%s: %w: %s: start the program again, which sets it aside", j.path, ErrDamaged, wrong)
	return errors.Join(err, writeDurable(unsoundPath(j.path), []byte(wrong+"\n")))
}

// wholeLook says what is wrong with the file. A run that was changed by hand is told to
// who reads it.
func wholeLook(ctx context.Context, path string) (wrong string, err error) {
	reader, err := OpenReadOnly(path)
	if err != nil {
		return "", err
	}
	found, err := reader.Verify(ctx)
	if err := errors.Join(err, reader.Close()); err != nil {
		return "", err
	}
	for _, problem := range found.Problems {
		if problem.Run == "" && problem.Entry == "" {
			return problem.Message, nil
		}
	}
	return "", nil
}

// suspected is the damage that a whole look found in the life before; nil for none.
func suspected(path string) error {
	text, err := os.ReadFile(unsoundPath(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("looking for what a check of the journal found: %w", err)
	}
	return fmt.Errorf("%s: %w: %s", path, ErrDamaged, strings.TrimSpace(string(text)))
}

// forgetSuspicion is for a journal that was set aside.
func forgetSuspicion(path string) error {
	if err := os.Remove(unsoundPath(path)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("forgetting what a check of the journal found: %w", err)
	}
	return nil
}
