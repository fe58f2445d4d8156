package web

import (
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

// asking is a bench with a question, and tripped one with a trip.
func asking() *controller.Snapshot {
	now := snapshot("contact-check")
	now.Question = &controller.Question{Code: fault.AreaOverstated, Text: "The rack behaves like 150 cm2.", Left: 52}
	now.Estimates.LiveArea = 150
	now.Trip = nil
	return now
}

// askingEye is a bench at rest after a stop, with the question whether that was good.
func askingEye() *controller.Snapshot {
	now := snapshot("stopped")
	now.Question = &controller.Question{Code: controller.GoodByEye, Text: "Good by eye?", Left: 17}
	return now
}

func tripped() *controller.Snapshot {
	now := snapshot("tripped")
	row, _ := fault.TripByCode(fault.ContactLost)
	now.Trip = &record.Trip{Code: row.Code, Message: row.Message, Action: row.Action}
	return now
}

func TestPlanIsStartedOnce(t *testing.T) {
	s := newStand(t)
	status, offered := s.ask(t, http.MethodPost, "/api/plan", `{}`)
	require.Equal(t, http.StatusOK, status)
	assert.Equal(t, 120.0, offered["valid_seconds"])
	assert.Equal(t, "spacers", offered["content_id"])
	assert.Equal(t, 70.0, offered["target_volts"])
	id := offered["plan_id"].(string)

	body := `{"plan_id":"` + id + `","operator":"Ida","note":"first"}`
	status, answer := s.ask(t, http.MethodPost, "/api/runs", body)
	require.Equal(t, http.StatusAccepted, status, answer)
	assert.Equal(t, "Ida", answer["who"])
	assert.Equal(t, "Ida", s.bench.started[0].Operator)
	assert.Equal(t, "first", s.bench.started[0].Note)

	status, answer = s.ask(t, http.MethodPost, "/api/runs", body)
	assert.Equal(t, http.StatusConflict, status)
	assert.Equal(t, "Ida", answer["who"])
	assert.NotEmpty(t, answer["when"])
	assert.Len(t, s.bench.started, 1)
}

func TestPlanRunsOut(t *testing.T) {
	s := newStand(t)
	id := s.plan(t)
	s.clock = s.clock.Add(120 * time.Second)
	status, _ := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+id+`"}`)
	assert.Equal(t, http.StatusGone, status)
	assert.Empty(t, s.bench.heard())
}

func TestSamePlanTwiceIsTwoOffers(t *testing.T) {
	s := newStand(t)
	one, two := s.plan(t), s.plan(t)
	assert.NotEqual(t, one, two)
	for range 3 * mostPlans {
		s.plan(t)
	}
	assert.LessOrEqual(t, len(s.plans.list), mostPlans, "offers are bounded")
}

func TestSecondStartIsToldWhoAndWhen(t *testing.T) {
	s := newStand(t)
	first, second := s.plan(t), s.plan(t)
	status, _ := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+first+`","operator":"Ida"}`)
	require.Equal(t, http.StatusAccepted, status)

	start := func() (int, map[string]any) {
		return s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+second+`","operator":"Jo"}`)
	}
	status, answer := start()
	assert.Equal(t, http.StatusConflict, status, "before the first shows in a snapshot")
	assert.Equal(t, "Ida", answer["who"])

	s.bench.refuses = controller.ErrBusy
	now := snapshot("ramping")
	now.Tick += settled
	s.bench.show(now)
	status, answer = start()
	assert.Equal(t, http.StatusConflict, status)
	assert.Equal(t, "Ida", answer["who"])
	assert.NotEmpty(t, answer["when"])

	s.bench.refuses = nil
	now = snapshot("complete")
	now.Tick += 100
	s.bench.show(now)
	status, _ = start()
	assert.Equal(t, http.StatusAccepted, status, "a refused start does not use its plan up")
}

func TestRefusalsOfTheStation(t *testing.T) {
	unmoved := fmt.Errorf("%w; it was last seen open 12 h 0 min ago", controller.ErrLidFirst)
	for err, want := range map[error]int{unmoved: 409, controller.ErrLatched: 409, controller.ErrClosing: 409, controller.ErrBusy: 409, controller.ErrLidFirst: 409, controller.ErrStationClosed: 503} {
		s := newStand(t)
		s.bench.refuses = err
		status, answer := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+s.plan(t)+`"}`)
		assert.Equal(t, want, status)
		assert.Equal(t, err.Error(), answer["error"])
	}
}

func TestOfManyStartsOneIsTaken(t *testing.T) {
	s := newStand(t)
	ids := make([]string, 50)
	for i := range ids {
		ids[i] = s.plan(t)
	}
	var wait sync.WaitGroup
	taken := make(chan int, 2*len(ids))
	for _, id := range ids {
		wait.Go(func() { taken <- s.raw(http.MethodPost, "/api/runs", `{"plan_id":"`+id+`"}`).Code })
		wait.Go(func() { taken <- s.raw(http.MethodPost, "/api/runs", `{"plan_id":"`+ids[0]+`"}`).Code })
	}
	wait.Wait()
	close(taken)
	count := map[int]int{}
	for code := range taken {
		count[code]++
	}
	assert.Equal(t, map[int]int{http.StatusAccepted: 1, http.StatusConflict: 2*len(ids) - 1}, count)
	assert.Len(t, s.bench.started, 1)
}

func TestOfManyStartsAndStopsEveryStopActs(t *testing.T) {
	s := newStand(t)
	const many = 50
	ids := make([]string, many)
	for i := range ids {
		ids[i] = s.plan(t)
	}
	var wait sync.WaitGroup
	starts, stops := make(chan int, many), make(chan int, many)
	for _, id := range ids {
		wait.Go(func() { starts <- s.raw(http.MethodPost, "/api/runs", `{"plan_id":"`+id+`"}`).Code })
		wait.Go(func() { stops <- s.raw(http.MethodPost, "/api/stop", `{"why":"smoke"}`).Code })
	}
	wait.Wait()
	close(starts)
	close(stops)
	accepted := 0
	for code := range starts {
		if code == http.StatusAccepted {
			accepted++
		} else {
			assert.Equal(t, http.StatusConflict, code)
		}
	}
	assert.LessOrEqual(t, accepted, 1)
	for code := range stops {
		assert.Equal(t, http.StatusOK, code)
	}
	acted := 0
	for _, line := range s.bench.heard() {
		if strings.HasPrefix(line, "stop false smoke") {
			acted++
		}
	}
	assert.Equal(t, many, acted, "every stop reached the station")
}

func TestStartSentBeforeAStopNeverOutlivesIt(t *testing.T) {
	s := newStand(t)
	id := s.plan(t)
	s.bench.onStart = func() { s.starts.stops.Add(1) } // a stop that comes just then
	status, _ := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+id+`"}`)
	assert.Equal(t, http.StatusConflict, status)
	assert.Equal(t, []string{"start", "stop false stopped before it began"}, s.bench.heard())
}

func TestStopIsNeverRefused(t *testing.T) {
	for name, c := range map[string]struct {
		body    string
		headers []string
		byEye   string
	}{
		"in JSON":           {`{}`, nil, "false"},
		"by eye":            {`{"by_eye":true}`, nil, "true"},
		"with nothing":      {"", nil, "false"},
		"with nonsense":     {"now!", nil, "false"},
		"as a form":         {"x=1", []string{"Content-Type", "application/x-www-form-urlencoded"}, "false"},
		"with a wrong type": {`{}`, []string{"Content-Type", "image/png"}, "false"},
		"far too large":     {strings.Repeat("x", 1<<20), nil, "false"},
		"with more words":   {`{"by_eye":true,"reason":"smoke"}`, nil, "true"},
		"from its own page": {`{}`, []string{"Origin", "http://127.0.0.1:7070", "Sec-Fetch-Site", "same-origin"}, "false"},
	} {
		for _, state := range []string{"idle", "checking", "ramping", "tripped", "complete"} {
			s := newStand(t)
			s.bench.show(snapshot(state))
			answer := s.raw(http.MethodPost, "/api/stop", c.body, c.headers...)
			assert.Less(t, answer.Code, 400, name)
			require.Len(t, s.bench.heard(), 1, name)
			assert.Contains(t, s.bench.heard()[0], "stop "+c.byEye, name)
		}
	}
}

func TestWordsThatATerminalWouldObeyAreRefused(t *testing.T) {
	const wild = `Ida\u001b[31m`
	s := newStand(t)
	for _, field := range []string{"operator", "note"} {
		status, answer := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+s.plan(t)+`","`+field+`":"`+wild+`"}`)
		assert.Equal(t, http.StatusBadRequest, status)
		assert.Contains(t, answer["error"], field+": character 4 of it is ")
	}
	s.bench.show(tripped())
	status, answer := s.ask(t, http.MethodPost, "/api/acknowledge", `{"who":"`+wild+`"}`)
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, answer["error"], "who: character 4")
	assert.Empty(t, s.bench.heard())
	status, _ = s.ask(t, http.MethodPost, "/api/stop", `{"why":"`+wild+`"}`)
	assert.Equal(t, http.StatusOK, status, "a stop only loses its words")
	require.Len(t, s.bench.heard(), 1)
	assert.Contains(t, s.bench.heard()[0], "stop false the API, from ")
}

func TestNameOfAPersonHasABound(t *testing.T) {
	long := strings.Repeat("Ida ", 16)
	s := newStand(t)
	status, answer := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+s.plan(t)+`","operator":"`+long+`"}`)
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, answer["error"], "operator: a name of 64 characters, at most 60 are kept")
	s.bench.show(tripped())
	status, answer = s.ask(t, http.MethodPost, "/api/acknowledge", `{"who":"`+long+`"}`)
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, answer["error"], "who: a name of 64 characters")
	assert.Empty(t, s.bench.heard())
}

func TestStopOfThePageAsksAfterwards(t *testing.T) {
	s := newStand(t)
	status, _ := s.ask(t, http.MethodPost, "/api/stop", `{"why":"the page","ask_by_eye":true}`)
	require.Equal(t, http.StatusOK, status)
	status, _ = s.ask(t, http.MethodPost, "/api/stop", `{"by_eye":true,"ask_by_eye":true}`)
	require.Equal(t, http.StatusOK, status)
	heard := s.bench.heard()
	assert.Contains(t, heard[0], "stop, and ask: the page, from ")
	assert.Contains(t, heard[1], "stop true", "who said so already is not asked")
}

func TestGoodByEyeHasAnAnswerOfItsOwn(t *testing.T) {
	s := newStand(t)
	s.bench.show(askingEye())
	for body, want := range map[string]int{`{"go_on":true}`: 409, `{}`: 400, `{"by_eye":true,"go_on":true}`: 400, `{"by_eye":true}`: 202} {
		status, _ := s.ask(t, http.MethodPost, "/api/answer", body)
		assert.Equal(t, want, status, body)
	}
	s.bench.show(asking())
	status, _ := s.ask(t, http.MethodPost, "/api/answer", `{"by_eye":true}`)
	assert.Equal(t, http.StatusConflict, status, "parts that hang in the air are not judged by eye")
	assert.Equal(t, []string{"answer true"}, s.bench.heard())
}

func TestAnswersAndAcknowledgements(t *testing.T) {
	s := newStand(t)
	for path, body := range map[string]string{"/api/answer": `{"go_on":true}`, "/api/acknowledge": `{"who":"Ida"}`} {
		status, _ := s.ask(t, http.MethodPost, path, body)
		assert.Equal(t, http.StatusConflict, status, "there is nothing to %s", path)
	}
	s.bench.show(asking())
	status, _ := s.ask(t, http.MethodPost, "/api/answer", `{}`)
	assert.Equal(t, http.StatusBadRequest, status, "silence is no answer")
	status, _ = s.ask(t, http.MethodPost, "/api/answer", `{"go_on":false}`)
	assert.Equal(t, http.StatusAccepted, status)
	s.bench.show(tripped())
	status, _ = s.ask(t, http.MethodPost, "/api/acknowledge", `{"who":" "}`)
	assert.Equal(t, http.StatusBadRequest, status, "an acknowledgement has a name")
	status, _ = s.ask(t, http.MethodPost, "/api/acknowledge", `{"who":"Ida"}`)
	assert.Equal(t, http.StatusAccepted, status)
	assert.Equal(t, []string{"answer false", "acknowledge Ida"}, s.bench.heard())
}

func TestStartOverTheAPIWantsTheLidFirst(t *testing.T) {
	s := newStand(t)
	status, _ := s.ask(t, http.MethodPost, "/api/runs", `{"plan_id":"`+s.plan(t)+`"}`)
	require.Equal(t, http.StatusAccepted, status)
	assert.True(t, s.bench.started[0].LidFirst)
}
