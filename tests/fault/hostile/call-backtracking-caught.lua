-- stopped: without an end
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
pcall(string.find, ("a"):rep(40), ("a*"):rep(20) .. "b")
