package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"
)

// ErrUnacknowledged is why no run begins after a damaged journal was set aside: what it
// held is missing, and a person is to know that before the next load.
var ErrUnacknowledged = errors.New("a damaged journal was set aside and nobody has acknowledged that yet")

// aside is what the file beside a journal says of a damaged one, until a person has
// acknowledged it. It is there before the damaged one has its new name.
type aside struct {
	Journal string    `json:"journal"` // its new name
	Why     string    `json:"why"`
	At      time.Time `json:"at"` // wall clock, a label
	Who     string    `json:"acknowledged_by,omitempty"`
}

func asidePath(path string) string { return path + ".set-aside" }

// noteAside makes durable that a journal was set aside.
func noteAside(path string, one aside) error {
	text, err := json.Marshal(one)
	if err == nil {
		err = writeDurable(asidePath(path), append(text, '\n'))
	}
	if err != nil {
		return fmt.Errorf("noting that the journal was set aside: %w", err)
	}
	return nil
}

// writeDurable replaces a small file by another, whole or not at all.
func writeDurable(path string, text []byte) error {
	fresh := path + ".new"
	file, err := os.OpenFile(fresh, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = file.Write(text)
	if err := errors.Join(err, file.Sync(), file.Close()); err != nil {
		return err
	}
	if err := os.Rename(fresh, path); err != nil {
		return err
	}
	return syncDirectory(path)
}

// Unacknowledged says which damaged journal was set aside and waits for a person; empty
// for none.
func Unacknowledged(path string) (string, error) {
	one, err := readAside(path)
	if err != nil || one == nil {
		return "", err
	}
	return one.words(), nil
}

func (a aside) words() string {
	return fmt.Sprintf("%s (%s), on %s", a.Journal, a.Why, a.At.UTC().Format("2006-01-02 15:04Z"))
}

// readAside is nil where nothing waits. A note that cannot be read waits, too.
func readAside(path string) (*aside, error) {
	text, err := os.ReadFile(asidePath(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("looking for a journal that was set aside: %w", err)
	}
	one := aside{Journal: "a journal beside " + path, Why: "the note of it cannot be read"}
	if err := json.Unmarshal(text, &one); err != nil {
		return &aside{Journal: one.Journal, Why: one.Why}, nil
	}
	return &one, nil
}

// Acknowledge says in the name of a person that it is known that a damaged journal was set
// aside. The damaged file stays, and so does this note, under its name. It returns what
// was acknowledged; empty where nothing waited.
func Acknowledge(path, who string) (string, error) {
	one, err := readAside(path)
	if err != nil || one == nil {
		return "", err
	}
	one.Who = who
	if err := noteAside(path, *one); err != nil {
		return "", err
	}
	to := one.Journal + ".acknowledged"
	if !exists(one.Journal) {
		to = asidePath(path) + ".acknowledged"
	}
	if err := os.Rename(asidePath(path), to); err != nil {
		return "", fmt.Errorf("acknowledging the journal that was set aside: %w", err)
	}
	return one.words(), syncDirectory(path)
}
