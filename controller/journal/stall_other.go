//go:build !linux

package journal

// stallApart is for Linux alone, which is what benches run on.
func stallApart() {}

// awaitDisk asks nothing: a sync tells as much where locks wait for no disk.
func awaitDisk(string) {}
