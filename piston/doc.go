// Package piston computes what a spring drives and what cocks it.
package piston
