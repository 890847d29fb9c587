-- stopped: without an end
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
table.move({}, 1, 1 << 40, 2)
