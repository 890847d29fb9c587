-- rejected: address
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
string.format("%p", {})
