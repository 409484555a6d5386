// Package profile follows a shot: a spring that drives a piston, which pushes
// water through a bed of coffee.
package profile
