package main

import "strings"

// orList joins words as in "mm, cm or in".
func orList(words []string) string { return joinWith(words, " or ") }

// andList joins words as in "rate, preload and bore".
func andList(words []string) string { return joinWith(words, " and ") }

func joinWith(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + last + words[n-1]
}

// nearest returns the candidate that a mistyped word most likely stands for,
// or "" where none is near: the same but for case, or up to a third of the
// letters off.
func nearest(word string, candidates []string) string {
	best, least := "", 1+max(1, len(word)/3)
	if len(word) < 2 {
		least = 1
	}
	for _, c := range candidates {
		if strings.EqualFold(word, c) {
			return c
		}
		d := edits(strings.ToLower(word), strings.ToLower(c))
		if d < least || d == least && best != "" && len(c) == len(word) && len(best) != len(word) {
			best, least = c, d
		}
	}
	return best
}

// edits returns the least number of letters to insert, drop or change to get
// from a to b (Levenshtein distance).
func edits(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range to {
			cost := diagonal
			if x != y {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(to)]
}
