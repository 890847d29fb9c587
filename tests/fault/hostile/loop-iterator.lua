-- stopped: more than a second
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
for _ in function() return 1 end do end
