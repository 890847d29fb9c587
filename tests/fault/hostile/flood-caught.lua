-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
while true do pcall(note, { id = "m", say = ("x"):rep(100000) }) end
