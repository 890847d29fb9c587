-- What the sequences of the harbour workshop share: names of lubricants, and sentences that are
-- said the same way everywhere.  All of it is invented.

local workshop = {}

-- Lubricants.  What is on the thread and under the head is part of every torque figure.
workshop.engine_oil = "engine oil on the thread and under the head"
workshop.bolt_paste = "the bolt maker's assembly paste on the thread and under the head"

-- Instruments, as they are labelled in the workshop's drawers.
workshop.micrometer = "outside micrometer 50-75 mm"
workshop.bore_gauge = "bore gauge 50-100 mm, set on its ring"
workshop.dial = "dial gauge on a magnetic stand"
workshop.feelers = "feeler gauges"

return workshop
