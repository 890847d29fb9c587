-- stopped
sequence { title = "T", engine = "E", document = "invented", invented = true }
note { id = "n", say = "s" }
while true do
  pcall(function()
    local t = {}
    while true do t[#t + 1] = {} end
  end)
end
