package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"anodized/controller/proof"
	"anodized/profiles"
)

// setUpDone is what --set-up prints as JSON.
type setUpDone struct {
	Bench    string      `json:"bench"`
	Answered []string    `json:"answered"` // now
	SetUp    proof.SetUp `json:"set_up"`
}

// setUp takes the answers to what no reading tells, and writes them into the file.
func (r *proofRun) setUp(ctx context.Context) error {
	switch {
	case r.file == nil:
		return badInput(errors.New("--set-up needs --bench: the embedded bench keeps no answers"))
	case r.flags.bench == "-":
		return badInput(profiles.ErrNotAFile)
	}
	given, keys, err := r.given(ctx)
	if err != nil {
		return badInput(err)
	}
	if len(keys) > 0 {
		write := func(file string, content []byte) ([]byte, error) { return profiles.Answered(file, content, given) }
		if err := profiles.Rewrite(r.flags.bench, write); err != nil {
			return badInput(err)
		}
	}
	if err := r.readFile(); err != nil {
		return cannot(err)
	}
	permit := proof.Permit(*r.file)
	if r.flags.json {
		return printJSON(r.env.stdout, setUpDone{r.flags.bench, keys, permit})
	}
	p := printer{out: r.env.stdout}
	p.line("%s: %d answers written", r.flags.bench, len(keys))
	p.setUp(permit)
	return p.err
}

// given are the answers of the flags, or of the person.
func (r *proofRun) given(ctx context.Context) (given profiles.SetUp, keys []string, err error) {
	keys = []string{}
	if len(r.flags.answers) == 0 {
		return r.interview(ctx)
	}
	for _, text := range r.flags.answers {
		q, a, err := parseAnswer(text)
		if err != nil {
			return given, keys, fmt.Errorf("--answer %q: %w", text, err)
		}
		a.Date = today()
		q.Give(&given, a)
		keys = append(keys, q.Key)
	}
	return given, keys, nil
}

func today() string { return time.Now().Format(time.DateOnly) }

// parseAnswer reads QUESTION=ANSWER; HOW.
func parseAnswer(text string) (profiles.Question, profiles.Answer, error) {
	key, rest, said := strings.Cut(text, "=")
	var known []string
	for _, q := range profiles.Questions() {
		if known = append(known, q.Key); !strings.EqualFold(q.Key, strings.TrimSpace(key)) {
			continue
		}
		if !said {
			return q, profiles.Answer{}, errors.New("no answer: QUESTION=ANSWER was expected")
		}
		answer, how, _ := strings.Cut(rest, ";")
		a, err := q.Read(answer)
		if err != nil {
			return q, a, err
		}
		a, err = withHow(q, a, strings.TrimSpace(how))
		return q, a, err
	}
	return profiles.Question{}, profiles.Answer{}, fmt.Errorf("no question is called %q; known: %s", key, strings.Join(known, ", "))
}

// withHow adds what belongs to an answer.
func withHow(q profiles.Question, a profiles.Answer, how string) (profiles.Answer, error) {
	switch {
	case how == "" && q.NeedsHow(a):
		return a, fmt.Errorf("%s: %s", q.How, q.HowAsks)
	case how == "":
		return a, nil
	case !q.NeedsHow(a):
		return a, fmt.Errorf("%q belongs to no answer of %s but %q", how, q.Key, q.HowFor)
	}
	how, err := q.ReadHow(how)
	a.How = how
	return a, err
}

// interview asks the person question by question. An empty line leaves a question as it
// is; the end of the input ends it, and what was answered stays.
func (r *proofRun) interview(ctx context.Context) (given profiles.SetUp, keys []string, err error) {
	keys = []string{}
	questions := slices.DeleteFunc(profiles.Questions(), func(q profiles.Question) bool { return q.Needless(*r.file) })
	for i, q := range questions {
		fmt.Fprintf(r.env.stderr, "\n%d of %d  %s\n        (%s)\n        %s\n", i+1, len(questions), q.Asks, q.Why, q.Choices())
		a, err := r.askOne(ctx, q)
		if errors.Is(err, errNobody) {
			return given, keys, nil
		}
		if err != nil {
			return given, keys, err
		}
		if a != nil {
			a.Date = today()
			q.Give(&given, *a)
			keys = append(keys, q.Key)
		}
	}
	return given, keys, nil
}

// askOne asks until the answer can be understood; nil leaves it as it is.
func (r *proofRun) askOne(ctx context.Context, q profiles.Question) (*profiles.Answer, error) {
	for {
		text, err := r.person.ask(ctx, fmt.Sprintf("        [%s] > ", q.Say(q.Of(r.file.SetUp))))
		if err != nil || text == "" {
			return nil, err
		}
		a, err := q.Read(text)
		if err == nil && q.NeedsHow(a) {
			var how string
			if how, err = r.person.ask(ctx, "        "+q.HowAsks+" > "); err != nil {
				return nil, err
			}
			a, err = withHow(q, a, how)
		}
		if err == nil {
			return &a, nil
		}
		fmt.Fprintf(r.env.stderr, "        %v\n", err)
	}
}
