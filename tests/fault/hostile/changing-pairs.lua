-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note(setmetatable({ id = "m", say = "s" }, { __pairs = error, __len = error, __index = error }))
