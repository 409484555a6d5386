// Command springcalc computes spring-lever espresso machines.
package main

func main() {}
