package profiles

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// DidYouMean is "; did you mean ...?" where one of the words is close, else "".
func DidYouMean(wrong string, words []string) string { return didYouMean(wrong, words) }

// didYouMean is "; did you mean ...?" where one of the words is close, else "".
func didYouMean(wrong string, words []string) string {
	if near := nearest(wrong, words); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return ""
}

// nearest finds the word that differs by the fewest letters, at most two, or a third
// of a longer word; or the one word that a shortened one begins.
func nearest(wrong string, words []string) string {
	wrong = squash(wrong)
	if utf8.RuneCountInString(wrong) > 60 {
		return ""
	}
	best, found := max(2, len(wrong)/3)+1, ""
	for _, word := range words {
		distance := editDistance(wrong, squash(word))
		if distance < best && distance < utf8.RuneCountInString(word) {
			best, found = distance, word
		}
	}
	if found == "" {
		return begunBy(wrong, words)
	}
	return found
}

func begunBy(short string, words []string) string {
	found := ""
	for _, word := range words {
		if len(short) >= 3 && strings.HasPrefix(squash(word), short) {
			if found != "" {
				return ""
			}
			found = word
		}
	}
	return found
}

// fold makes spelling habits equal: case, and the characters that part words.
func fold(s string) string {
	return strings.ToLower(strings.NewReplacer("_", " ", "-", " ").Replace(strings.TrimSpace(s)))
}

// squash is fold without any parting of words.
func squash(s string) string { return strings.ReplaceAll(fold(s), " ", "") }

// editDistance counts the letters to insert, remove, change or swap with their
// neighbour (optimal string alignment).
func editDistance(from, to string) int {
	a, b := []rune(from), []rune(to)
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			rows[i][j] = cheapest(rows, a, b, i, j)
		}
	}
	return rows[len(a)][len(b)]
}

func cheapest(rows [][]int, a, b []rune, i, j int) int {
	change := rows[i-1][j-1]
	if a[i-1] != b[j-1] {
		change++
	}
	cost := min(change, rows[i-1][j]+1, rows[i][j-1]+1)
	if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
		cost = min(cost, rows[i-2][j-2]+1)
	}
	return cost
}

// quoted lists words for a message: "a", "b", "c".
func quoted(words []string) string {
	marked := make([]string, len(words))
	for i, word := range words {
		marked[i] = fmt.Sprintf("%q", word)
	}
	return strings.Join(marked, ", ")
}
