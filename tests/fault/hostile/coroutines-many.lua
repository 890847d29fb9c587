-- rejected: unknown word `coroutine`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
for i = 1, 100 do coroutine.create(function() end) end
