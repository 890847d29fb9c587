-- stopped: more than a second
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = {}
for i = 1, 1000 do t[i] = i end
table.sort(t, function() while true do end end)
