package bench

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"anodized/profiles"
)

// lock is the hold of this process on a supply, by each place that it is at.
type lock []io.Closer

// takeLock takes the bench with this supply for this process, or says who has it.
func takeLock(ctx context.Context, s profiles.SupplyEntry) (lock, error) {
	places, err := placesOf(ctx, s)
	if err != nil {
		return nil, err
	}
	folder, err := lockFolder()
	if err != nil {
		return nil, fmt.Errorf("take the bench: %w", err)
	}
	slices.Sort(places)
	var held lock
	for _, place := range slices.Compact(places) {
		one, err := takePlace(folder, place)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("take the bench with the supply%s: %w", at(s.Address), err), held.Close())
		}
		held = append(held, one...)
	}
	return held, nil
}

// Close lets go of the bench.
func (l lock) Close() error {
	var errs []error
	for _, one := range l {
		errs = append(errs, one.Close())
	}
	return errors.Join(errs...)
}

// lockFolder is the one folder of all lock files, for this user alone. A file that
// stays in it after its process holds nothing.
func lockFolder() (string, error) {
	if run := os.Getenv("XDG_RUNTIME_DIR"); filepath.IsAbs(run) {
		folder := filepath.Join(run, "anodized")
		if err := os.Mkdir(folder, 0o700); err != nil && !errors.Is(err, os.ErrExist) {
			return "", fmt.Errorf("make the folder of its lock; is XDG_RUNTIME_DIR right? %w", err)
		}
		return folder, nil
	}
	folder := filepath.Join(os.TempDir(), fmt.Sprintf("anodized-%d", os.Getuid()))
	if err := os.Mkdir(folder, 0o700); err != nil && !errors.Is(err, os.ErrExist) {
		return "", fmt.Errorf("make the folder of its lock: %w", err)
	}
	return folder, own(folder)
}

// fileName makes one name of a place.
func fileName(place string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-", r) {
			return r
		}
		return '_'
	}, place) + ".lock"
}
