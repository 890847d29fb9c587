-- rejected: unknown word `coroutine`
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local co = coroutine.wrap(function() while true do end end)
co()
