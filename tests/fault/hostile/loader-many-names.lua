-- stopped
for i = 1, 1e7 do pcall(require, 'n' .. i) end
