package main

import (
	"bufio"
	"os/exec"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
)

// A journal whose disk stalls is given up in time, and keeps its place until the disk is back.
func TestOpeningAJournalIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		places, comesBack := make(chan struct{}, 1), make(chan struct{})
		open := func(string) (*journal.Reader, error) { <-comesBack; return nil, journal.ErrNoJournal }
		began := time.Now()
		_, err := openWithin("j.db", readWithin, places, open)
		require.ErrorIs(t, err, errDiskStalls)
		assert.Equal(t, readWithin, time.Since(began))
		_, err = openWithin("j.db", readWithin, places, open)
		require.ErrorContains(t, err, "to those who asked before")
		assert.Equal(t, readWithin, time.Since(began), "the second is told at once")
		close(comesBack)
		synctest.Wait()
		_, err = openWithin("j.db", readWithin, places, open)
		require.ErrorIs(t, err, journal.ErrNoJournal)
	})
}

// Commands that only read say what they wait for where the disk stalls, and what to do; one that
// the kernel holds ends with the disk, and its status says that it could not.
func TestCommandsThatReadAJournalOnADiskThatStalls(t *testing.T) {
	t.Parallel()
	disk := stallingDisk(t)
	path := filepath.Join(disk.at, "j.db")
	reopened(t, path)
	disk.stall()
	began := time.Now()
	var all []*exec.Cmd
	var said []<-chan string
	for _, args := range [][]string{{"runs"}, {"runs", "show", "last"}, {"journal", "verify"}, {"review", "last"}} {
		command := exec.Command("anodized", append(args, "--journal", path)...)
		errors, err := command.StderrPipe()
		require.NoError(t, err)
		require.NoError(t, command.Start())
		first := make(chan string, 1)
		go func() {
			lines := bufio.NewScanner(errors)
			lines.Scan()
			first <- lines.Text()
		}()
		all, said = append(all, command), append(said, first)
	}
	limit := time.After(readWithin + 20*time.Second)
	for i, first := range said {
		select {
		case text := <-first:
			assert.Contains(t, text, "the journal's disk does not answer within 10s: look at the storage of this computer", all[i].Args)
		case <-limit:
			assert.Fail(t, "it says nothing", all[i].Args)
		}
	}
	t.Logf("all told after %v", time.Since(began))
	disk.comesBack()
	for _, command := range all {
		_ = command.Wait() // its status is looked at
		assert.Equal(t, statusCannot, command.ProcessState.ExitCode(), command.Args)
	}
}
