-- stopped: more than a second
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
local mt = { __close = function() while true do end end }
while true do
  pcall(function()
    local x <close> = setmetatable({}, mt)
    error("x")
  end)
end
