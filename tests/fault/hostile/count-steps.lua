-- rejected
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
for i = 1, 5000 do note { id = "m" .. i, say = "s" } end
