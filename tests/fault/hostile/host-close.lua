-- harmless
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
do
  local x <close> = setmetatable({}, { __close = function() note { id = "c", say = "s" } end })
end
