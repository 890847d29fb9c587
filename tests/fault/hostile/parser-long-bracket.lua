-- rejected: unfinished long string
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local x = [==[
