package main

import (
	"os"
	"strings"

	"springcalc/spring"
)

// benchColumns are the columns of a list of readings on a bench:
//
//	length mm, load N
//	150.2, 480
var benchColumns = []csvColumn{
	{key{name: "length", dim: dimLength, allowed: limits{above: "0 mm", upTo: "1 m"}}, []string{"length"}, true},
	{key{name: "load", dim: dimForce, allowed: limits{from: "0 N", upTo: "20 kN"}}, []string{"load"}, true},
}

// readBench reads a bench file.
func readBench(path string) ([]spring.Point, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return parseBench(path, data)
}

func parseBench(name string, data []byte) ([]spring.Point, error) {
	f, err := openCSV(name, data, benchColumns)
	if err != nil {
		return nil, err
	}
	if f.columns[0] < 0 && strings.Contains(strings.ToLower(strings.Join(f.header, " ")), "deflection") {
		f.faultAt(0, "a deflection is the free length less the length")
	}
	f.needUnits()
	if err := f.err(); err != nil {
		return nil, err
	}
	var points []spring.Point
	for f.next() {
		length, _ := f.quantity(0)
		load, _ := f.quantity(1)
		points = append(points, spring.Point{Length: length, Load: load})
	}
	if err := f.err(); err != nil {
		return nil, err
	}
	return points, nil
}
