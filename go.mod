module needlesight

go 1.26
