module springcalc

go 1.26
