-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
assert(tostring({}) == "table")
assert(not tostring(pairs):find("0x"))
