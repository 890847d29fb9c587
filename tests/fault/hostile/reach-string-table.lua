-- rejected: cannot be written to
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
string.format = nil
