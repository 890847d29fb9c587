-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local t = { 1 }
for i = 1, 7 do t = { t, t, t, t, t, t, t, t } end
note { t }
