package process

// AnswerTime is how long a question stays open, for those who show it.
const AnswerTime = answerTime

// Silence is how long an energised run goes on without a reading.
const Silence = silence
