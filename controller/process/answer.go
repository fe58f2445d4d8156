package process

// AnswerTime is how long a question stays open, for those who show it.
const AnswerTime = answerTime
