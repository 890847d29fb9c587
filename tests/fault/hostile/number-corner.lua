-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
assert(math.mininteger // -1 == math.mininteger)
assert(not pcall(function() return 1 // 0 end))
assert(math.tointeger(2^53) == 1 << 53)
