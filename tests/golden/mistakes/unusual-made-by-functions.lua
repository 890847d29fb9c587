local function titled(t) return setmetatable(t, { __index = { unused = true } }) end
local figures = { [1] = 8, [2] = 16, [3] = 24 }
local stages = {}
for i, Nm_ in ipairs(figures) do stages[i] = torque { Nm(Nm_), within = percent(i == 3 and 5 or 8) } end

sequence(titled { title = "Written by a programmer", engine = "E", document = "invented" })
local name = group { name = "g", say = "s", lubricant = "dry", thread = "M8", class = "10.9",
                     places = circle { n = 3, diameter = mm(40) }, order = "crosswise" }
local steps = {}
for _, id in ipairs { "a", "b", "c" } do
  steps[#steps + 1] = confirm { id = id, say = ("Step %s."):format(id:upper()), after = steps[#steps] }
end
tighten { id = "t", say = table.concat({ "Tighten", "them." }, " "), group = name, after = steps, stages = stages }
-- unusual, and no mistake
