//go:build race

package page

// underRace says that everything takes many times as long as usual.
const underRace = true
