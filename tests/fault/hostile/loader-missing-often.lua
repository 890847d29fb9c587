-- stopped
for i = 1, 1e7 do pcall(require, 'nothere') end
