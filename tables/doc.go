// Package tables holds published data, each number with its source.
package tables
