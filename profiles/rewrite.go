package profiles

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// ErrNotAFile is for what was read from standard input and cannot be written.
var ErrNotAFile = errors.New("the bench came from standard input, which cannot be written: give the file's name")

// Rewrite changes a file through a function of its content: all of it or nothing, and
// with the rights that the file has. A link stays a link. What somebody else wrote
// meanwhile is not lost: then nothing is written.
func Rewrite(path string, change func(file string, content []byte) ([]byte, error)) error {
	if path == "-" {
		return ErrNotAFile
	}
	target, err := filepath.EvalSymlinks(path)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	before, err := ReadFile(target, nil)
	if err != nil {
		return err
	}
	after, err := change(path, before)
	if err != nil {
		return err
	}
	if err := replace(target, before, after); err != nil {
		return fmt.Errorf("write %s: %w; it is as it was", path, cause(err))
	}
	if err := syncFolder(filepath.Dir(target)); err != nil {
		return fmt.Errorf("%s is written, but may not outlast a power failure: %w", path, err)
	}
	return nil
}

// replace writes a new file beside the old one and puts it in its place.
func replace(target string, before, after []byte) (err error) {
	info, err := os.Stat(target)
	if err != nil {
		return err
	}
	fresh, err := os.CreateTemp(filepath.Dir(target), "."+filepath.Base(target)+".*")
	if err != nil {
		return err
	}
	placed := false
	defer func() {
		if !placed {
			err = errors.Join(err, os.Remove(fresh.Name()))
		}
	}()
	_, err = fresh.Write(after)
	if err = errors.Join(err, fresh.Chmod(info.Mode().Perm()), fresh.Sync(), fresh.Close()); err != nil {
		return err
	}
	now, err := os.ReadFile(target)
	if err == nil && !bytes.Equal(now, before) {
		err = errors.New("somebody else wrote it at the same time: try again")
	}
	if err != nil {
		return err
	}
	if err = os.Rename(fresh.Name(), target); err != nil {
		return err
	}
	placed = true
	return nil
}

// syncFolder makes the new name last over a power failure.
func syncFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}
