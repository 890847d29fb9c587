-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local part = ("x"):rep(1 << 16)
local t = setmetatable({}, {
  __len = function() return 1 << 20 end,
  __index = function() return part end,
})
local s = table.concat(t)
