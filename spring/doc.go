// Package spring computes helical compression springs of round wire.
package spring
