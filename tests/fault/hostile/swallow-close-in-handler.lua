-- rejected: given
sequence{title='T',engine='E',document='D',invented=true}
note{id='n',say='s'}
do local a <close> = setmetatable({},{__close=function(_,e) error(setmetatable({},{__tostring=function() return {} end})) end}) error() end
