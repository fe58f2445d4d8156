package journal

import (
	"bufio"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkSecondOfSamples is a second of samples appended and durable.
func BenchmarkSecondOfSamples(b *testing.B) {
	j, err := Open(filepath.Join(b.TempDir(), "journal.db"), Options{})
	require.NoError(b, err)
	_, err = j.Begin(b.Context(), sampleIntent())
	require.NoError(b, err)
	tick := 0
	before := bytesToDisk(b)
	for b.Loop() {
		appendAll(j, sampleRows(tick, 10))
		require.NoError(b, j.Flush(b.Context()))
		tick += 10
	}
	b.ReportMetric(float64(bytesToDisk(b)-before)/float64(b.N), "disk-B/op")
	require.NoError(b, j.Close())
}

// BenchmarkLoad is a load of four minutes at ten rows a second, from opening the
// journal to closing it, with a second of samples a transaction.
func BenchmarkLoad(b *testing.B) {
	path := filepath.Join(b.TempDir(), "journal.db")
	before := bytesToDisk(b)
	for b.Loop() {
		j, err := Open(path, Options{})
		require.NoError(b, err)
		_, err = j.Begin(b.Context(), sampleIntent())
		require.NoError(b, err)
		for second := range 240 {
			appendAll(j, sampleRows(10*second, 10))
			require.NoError(b, j.Flush(b.Context()))
		}
		require.NoError(b, j.Finish(b.Context(), sampleResult()))
		require.NoError(b, j.Close())
	}
	load := float64(bytesToDisk(b)-before) / float64(b.N)
	info, err := os.Stat(path)
	require.NoError(b, err)
	b.ReportMetric(load/1e6, "disk-MB/load")
	b.ReportMetric(10*load/1e6, "disk-MB/day")
	b.ReportMetric(float64(info.Size())/float64(b.N)/1e3, "file-kB/load")
}

// BenchmarkAppend is what the control loop pays for a row.
func BenchmarkAppend(b *testing.B) {
	r := newRing()
	r.open(6000)
	rows := sampleRows(0, 1000)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		r.append(rows[i%len(rows)])
	}
}

// BenchmarkEncodeSecond codes a second of samples.
func BenchmarkEncodeSecond(b *testing.B) {
	rows := sampleRows(100, 10)
	var size int
	for b.Loop() {
		size = len(encodeBatch(rows))
	}
	b.ReportMetric(float64(size), "B/batch")
}

// bytesToDisk is what this process has caused the kernel to send to the disk.
func bytesToDisk(tb testing.TB) int64 {
	tb.Helper()
	file, err := os.Open("/proc/self/io")
	require.NoError(tb, err)
	defer func() { require.NoError(tb, file.Close()) }()
	for lines := bufio.NewScanner(file); lines.Scan(); {
		if text, ok := strings.CutPrefix(lines.Text(), "write_bytes: "); ok {
			n, err := strconv.ParseInt(text, 10, 64)
			require.NoError(tb, err)
			return n
		}
	}
	tb.Fatal("the kernel does not say how much was written")
	return 0
}
