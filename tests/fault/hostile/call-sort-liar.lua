-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = {}
for i = 1, 100 do t[i] = i end
table.sort(t, function() return true end)
