sequence{title="T",engine="E",document="invented"}group{name="g",say="s",lubricant="dry",places=labels{"a"}}tighten{id="t",say="s",group="g",stages={torque{Nm(5),within=percent(10)}}}
-- unusual, and no mistake
