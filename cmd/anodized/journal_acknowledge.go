package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
)

func newAcknowledgeJournalCommand(e env, f *runsFlags) *cobra.Command {
	var name string
	command := &cobra.Command{
		Use:   "acknowledge",
		Short: "say that it is known that a damaged journal was set aside",
		Long: "A damaged journal is set aside under another name and a new one begun. No load begins\n" +
			"until a person has said here that this is known: what the damaged one held is missing\n" +
			"from the history. The damaged file stays as it is. It may be said while a daemon runs.",
		Example: "  anodized journal acknowledge --name Ida",
		Args:    cobra.NoArgs,
		RunE:    func(*cobra.Command, []string) error { return acknowledgeJournal(e, *f, name) },
	}
	command.Flags().StringVar(&name, "name", "", "who knows it")
	return command
}

func acknowledgeJournal(e env, f runsFlags, who string) error {
	if who = strings.TrimSpace(who); who == "" {
		return badInput(errors.New("--name is needed: who knows that the journal was damaged"))
	}
	if err := nameFlag("name", who); err != nil {
		return badInput(err)
	}
	path, err := journalPath(e, f.journal)
	if err != nil {
		return err
	}
	known, err := journal.Acknowledge(path, who)
	if err != nil {
		return cannot(err)
	}
	if f.json {
		return printJSON(e.stdout, map[string]string{"acknowledged": known})
	}
	if known == "" {
		_, err = fmt.Fprintf(e.stdout, "nothing waits: no damaged journal was set aside beside %s\n", path)
		return err
	}
	_, err = fmt.Fprintf(e.stdout, "acknowledged by %s: %s\n", who, known)
	return err
}
