package process

// AnswerTime is how long a question stays open, for those who show it.
const AnswerTime = answerTime

// Silence is how long an energised run goes on without a reading.
const Silence = silence

// LidAge is how old the last reading of the lid switch may be before it counts as open.
const LidAge = interlockAge
