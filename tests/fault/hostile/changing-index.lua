-- rejected: lacks `id`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
note(setmetatable({}, { __index = { id = "m", say = "s" } }))
