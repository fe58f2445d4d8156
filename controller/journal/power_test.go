package journal

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

var (
	powerCuts = flag.Int("power-cuts", 20, "how often the power goes in TestPowerCutAtAnyByte")
	powerSeed = flag.Uint64("power-seed", 1, "seed of its moments")
	powerJSON = flag.String("power-json", "", "file for its figures")
)

// The runs of a session, in seconds: some end within one log, some fold it into the file.
var sessionSeconds = []int{8, 500, 30, 260}

// mark is what had become of one run when so many accesses were done.
type mark struct {
	asked, begun, ended, finished int // number of the access before which it happened; -1: not yet
	rows                          []time.Duration
}

// session is what was written, access by access, and what happened meanwhile.
type session struct {
	done  []access
	marks []mark
	truth []record.Row // of each run, as far as it went
}

// recordSession keeps runs in simulated time on the real database, closing the journal
// once in between, and leaves the last run open.
func recordSession(t *testing.T, runs []int) session {
	t.Helper()
	directory := t.TempDir()
	s := session{truth: sampleRows(0, 10*slices.Max(runs))}
	synctest.Test(t, func(t *testing.T) {
		disk := watchDisk(t, directory)
		path := filepath.Join(directory, "journal.db")
		j, err := Open(path, Options{})
		require.NoError(t, err)
		for n, seconds := range runs {
			s.marks = append(s.marks, keepRun(t, disk, j, seconds, n < len(runs)-1))
			if n == 1 {
				require.NoError(t, j.Close())
				j, err = Open(path, Options{})
				require.NoError(t, err)
			}
		}
		pass(2 * time.Second)
		require.NoError(t, j.Close())
		s.done = disk.done
	})
	return s
}

func keepRun(t *testing.T, disk *watchedDisk, j *Journal, seconds int, finish bool) mark {
	t.Helper()
	m := mark{asked: disk.count(), ended: -1, finished: -1}
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	m.begun = disk.count()
	for _, row := range sampleRows(0, 10*seconds) {
		j.Append(row)
		m.rows = append(m.rows, time.Since(disk.began))
		pass(100 * time.Millisecond)
	}
	if finish {
		m.ended = disk.count()
		require.NoError(t, j.Finish(t.Context(), sampleResult()))
		m.finished = disk.count()
	}
	return m
}

// cut is the moment at which the power goes: in the course of an access, after so many
// of its bytes. What was not synced by then is kept, sector by sector, with this chance.
type cut struct {
	access, bytes int
	kept          float64
}

const sector = 512

// onDisk is a file as the disk has it.
type onDisk struct {
	there  bool
	safe   []byte
	unsafe []access // not synced yet
}

// after is what the disk holds once the power is back.
func (s session) after(c cut, random *rand.Rand) map[string][]byte {
	files := map[string]*onDisk{}
	for i, one := range s.done[:c.access+1] {
		f := files[one.file]
		if f == nil {
			f = &onDisk{}
			files[one.file] = f
		}
		if i == c.access {
			if one.what != 'w' { // it had not happened yet
				break
			}
			one.data = one.data[:c.bytes]
		}
		f.take(one)
	}
	left := map[string][]byte{}
	for name, f := range files {
		if content := f.settle(c.kept, random); f.there {
			left[name] = content
		}
	}
	return left
}

func (f *onDisk) take(one access) {
	switch one.what {
	case 'r':
		*f = onDisk{}
	case 's':
		f.there = true
		for _, waiting := range f.unsafe {
			f.safe = applied(f.safe, waiting)
		}
		f.unsafe = nil
	default:
		f.there = true
		f.unsafe = append(f.unsafe, one)
	}
}

func applied(content []byte, one access) []byte {
	if one.what == 't' {
		return resized(content, int(one.offset))
	}
	content = resized(content, max(len(content), int(one.offset)+len(one.data)))
	copy(content[one.offset:], one.data)
	return content
}

func resized(content []byte, size int) []byte {
	if size <= len(content) {
		return content[:size]
	}
	return append(content, make([]byte, size-len(content))...)
}

// settle is what comes of the accesses that no sync had made safe: the disk took any of
// their sectors, in any order.
func (f *onDisk) settle(kept float64, random *rand.Rand) []byte {
	content := append([]byte{}, f.safe...)
	for _, one := range f.unsafe {
		if one.what == 't' {
			if random.Float64() < kept {
				content = applied(content, one)
			}
			continue
		}
		for from := 0; from < len(one.data); {
			to := min(len(one.data), from+sector-int(one.offset+int64(from))%sector)
			if random.Float64() < kept {
				content = applied(content, access{what: 'w', offset: one.offset + int64(from), data: one.data[from:to]})
			}
			from = to
		}
	}
	return content
}

// figures are what the cuts came to.
type figures struct {
	Simulated    bool           `json:"simulated"`
	Cuts         int            `json:"power_cuts"`
	Seed         uint64         `json:"seed"`
	Accesses     int            `json:"accesses"`
	Bytes        int64          `json:"bytes_written"`
	Torn         int            `json:"within_a_write"`
	Lossy        int            `json:"with_unsynced_sectors_lost"`
	Readable     int            `json:"readable"`
	SetAside     int            `json:"set_aside"`
	Verified     int            `json:"verified_whole"`
	Endings      map[string]int `json:"last_run"`
	MostLost     float64        `json:"most_seconds_lost"`
	RowsRead     int64          `json:"rows_read_back"`
	WallSeconds  float64        `json:"took_s"`
	SessionRuns  int            `json:"runs_in_the_session"`
	SessionHours float64        `json:"simulated_hours_of_the_session"`
}

// The power goes at any byte of any access, and what was not synced is lost in any part:
// the record reads, claims nothing that did not happen, misses at most the last second,
// and never an intent after which the output could have gone on.
func TestPowerCutAtAnyByte(t *testing.T) {
	s := recordSession(t, sessionSeconds)
	random := rand.New(rand.NewPCG(*powerSeed, 11))
	sum := figures{Simulated: true, Cuts: *powerCuts, Seed: *powerSeed, Accesses: len(s.done), Endings: map[string]int{}, SessionRuns: len(s.marks),
		SessionHours: s.done[len(s.done)-1].at.Hours()}
	for _, one := range s.done {
		sum.Bytes += int64(len(one.data))
	}
	began := time.Now()
	folder := fastFolder(t)
	for n := range *powerCuts {
		c := s.anyMoment(random)
		sum.Torn += boolInt(s.done[c.access].what == 'w')
		sum.Lossy += boolInt(c.kept < 1)
		s.requireHonest(t, folder, c, random, &sum)
		if t.Failed() {
			t.Fatalf("cut %d of seed %d: %+v %+v", n, *powerSeed, c, s.done[c.access].file)
		}
	}
	sum.WallSeconds = time.Since(began).Seconds()
	assert.Zero(t, sum.SetAside)
	assert.Equal(t, sum.Cuts, sum.Readable)
	if sum.Cuts >= manyCuts { // so many meet every ending
		assert.Positive(t, sum.Endings["interrupted"])
		assert.Positive(t, sum.Endings["complete"])
	}
	text, err := json.MarshalIndent(sum, "", "  ")
	require.NoError(t, err)
	t.Logf("%s", text)
	if *powerJSON != "" {
		require.NoError(t, os.WriteFile(*powerJSON, append(text, '\n'), 0o644))
	}
}

const manyCuts = 500

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// anyMoment is a cut at any access, at any byte of it; one in three at a fold of the log
// into the file, where the two depend on each other.
func (s session) anyMoment(random *rand.Rand) cut {
	c := cut{access: random.IntN(len(s.done)), kept: []float64{1, 0, 0.5, random.Float64()}[random.IntN(4)]}
	for wanted := random.IntN(3) == 0; wanted && s.done[c.access].file != "journal.db"; {
		c.access = random.IntN(len(s.done))
	}
	if size := len(s.done[c.access].data); size > 0 {
		c.bytes = random.IntN(size + 1)
	}
	return c
}

func fastFolder(t *testing.T) string {
	t.Helper()
	folder, err := os.MkdirTemp("/dev/shm", "anodized-power-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(folder)) })
	return folder
}

func (s session) requireHonest(t *testing.T, folder string, c cut, random *rand.Rand, sum *figures) {
	t.Helper()
	path := filepath.Join(folder, "journal.db")
	for name, content := range s.after(c, random) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), content, 0o600))
	}
	if random.IntN(4) == 0 { // an index of the log that is no such thing
		rubbish := make([]byte, 32768)
		for i := range rubbish {
			rubbish[i] = byte(random.Uint32())
		}
		require.NoError(t, os.WriteFile(path+"-shm", rubbish, 0o600))
	}
	s.requireReadable(t, path, c, sum)
	s.requireNext(t, path, random.IntN(4) == 0, sum)
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	for _, entry := range entries {
		require.NoError(t, os.RemoveAll(filepath.Join(folder, entry.Name())))
	}
}

// A journal whose making was cut off at any access is made again, however often.
func TestPowerCutWhileTheJournalIsMade(t *testing.T) {
	s := recordSession(t, []int{1})
	folder := fastFolder(t)
	random := rand.New(rand.NewPCG(*powerSeed, 12))
	sum := figures{Endings: map[string]int{}}
	for access := range s.marks[0].asked {
		for _, kept := range []float64{0, 0.5, 1} {
			s.requireHonest(t, folder, cut{access, len(s.done[access].data) / 2, kept}, random, &sum)
		}
	}
	assert.Equal(t, 3*s.marks[0].asked, sum.Readable)
	assert.Positive(t, sum.Endings["no journal yet"])
}

// requireReadable holds what a reader sees against what had happened.
func (s session) requireReadable(t *testing.T, path string, c cut, sum *figures) {
	t.Helper()
	reader, err := OpenReadOnly(path)
	if errors.Is(err, ErrNoJournal) {
		require.Less(t, c.access, s.marks[0].begun, "an intent was durable")
		sum.Endings["no journal yet"]++
		return
	}
	require.NoError(t, err)
	for n, m := range s.marks {
		run, err := reader.Run(strconv.Itoa(n + 1))
		if errors.Is(err, ErrNoRun) {
			require.Less(t, c.access, m.begun, "the intent of run %d was durable", n+1)
			break
		}
		require.NoError(t, err)
		require.GreaterOrEqual(t, c.access, m.asked, "run %d had not been asked for", n+1)
		s.requireRun(t, m, run, c, sum)
	}
	require.NoError(t, reader.Close())
}

func (s session) requireRun(t *testing.T, m mark, run record.Run, c cut, sum *figures) {
	t.Helper()
	require.Equal(t, sampleIntent(), run.Intent)
	require.LessOrEqual(t, len(run.Rows), len(m.rows))
	requireRows(t, s.truth[:len(run.Rows)], run.Rows)
	sum.RowsRead += int64(len(run.Rows))
	went := s.done[c.access].at
	due, happened := 0, 0
	for _, appended := range m.rows {
		due += boolInt(appended < went-time.Second)
		happened += boolInt(appended <= went)
	}
	require.LessOrEqual(t, len(run.Rows), happened, "rows that had not been read")
	require.GreaterOrEqual(t, len(run.Rows), due, "rows older than a second")
	if len(run.Rows) < happened {
		sum.MostLost = max(sum.MostLost, (went - m.rows[len(run.Rows)]).Seconds())
	}
	switch run.Result.Outcome {
	case record.Complete:
		require.True(t, m.ended >= 0 && c.access >= m.ended, "its end had not come")
		require.Len(t, run.Rows, len(m.rows))
	default:
		require.Equal(t, record.Interrupted, run.Result.Outcome)
		require.False(t, m.finished >= 0 && c.access >= m.finished, "its end was durable")
	}
}

// requireNext opens the journal as the next start does: nothing is set aside, what was
// open is closed as interrupted, and, looked at whole, it is what its hashes say.
func (s session) requireNext(t *testing.T, path string, whole bool, sum *figures) {
	t.Helper()
	j, err := Open(path, Options{})
	require.NoError(t, err)
	sum.SetAside += boolInt(j.Status().SetAside != "")
	require.Empty(t, j.Status().SetAside, j.Status().Why)
	require.Empty(t, j.Status().Unreadable)
	if whole {
		found, err := j.Verify(t.Context())
		require.NoError(t, err)
		require.Empty(t, found.Problems)
		require.Equal(t, found.Runs, found.Verified)
		sum.Verified++
	}
	list, err := j.Runs(Filter{Limit: 1})
	require.NoError(t, err)
	if len(list) > 0 {
		sum.Endings[fmt.Sprint(list[0].Outcome)]++
	}
	require.NoError(t, j.Close())
	sum.Readable++
}
