---@meta

-- What an editor with a Lua language server needs to know of the words of a sequence: completion,
-- types, a line of help.  Nothing runs it.  `boltwright new DIR` puts a copy beside a new sequence;
-- every word and field of it is held against the program's own table by a test.

---@class boltwright.quantity
---@class boltwright.number: boltwright.quantity
---@operator add(boltwright.number): boltwright.number
---@operator sub(boltwright.number): boltwright.number
---@operator mul(number): boltwright.number
---@operator div(number): boltwright.number
---@class boltwright.torque: boltwright.quantity
---@operator add(boltwright.torque): boltwright.torque
---@operator sub(boltwright.torque): boltwright.torque
---@operator mul(number): boltwright.torque
---@operator div(number): boltwright.torque
---@class boltwright.force: boltwright.quantity
---@operator add(boltwright.force): boltwright.force
---@operator sub(boltwright.force): boltwright.force
---@operator mul(number): boltwright.force
---@operator div(number): boltwright.force
---@class boltwright.length: boltwright.quantity
---@operator add(boltwright.length): boltwright.length
---@operator sub(boltwright.length): boltwright.length
---@operator mul(number): boltwright.length
---@operator div(number): boltwright.length
---@class boltwright.stress: boltwright.quantity
---@operator add(boltwright.stress): boltwright.stress
---@operator sub(boltwright.stress): boltwright.stress
---@operator mul(number): boltwright.stress
---@operator div(number): boltwright.stress
---@class boltwright.angle: boltwright.quantity
---@operator add(boltwright.angle): boltwright.angle
---@operator sub(boltwright.angle): boltwright.angle
---@operator mul(number): boltwright.angle
---@operator div(number): boltwright.angle
---@class boltwright.temperature: boltwright.quantity
---@operator add(boltwright.temperature): boltwright.temperature
---@operator sub(boltwright.temperature): boltwright.temperature
---@operator mul(number): boltwright.temperature
---@operator div(number): boltwright.temperature
---@class boltwright.mass: boltwright.quantity
---@operator add(boltwright.mass): boltwright.mass
---@operator sub(boltwright.mass): boltwright.mass
---@operator mul(number): boltwright.mass
---@operator div(number): boltwright.mass
---@class boltwright.volume: boltwright.quantity
---@operator add(boltwright.volume): boltwright.volume
---@operator sub(boltwright.volume): boltwright.volume
---@operator mul(number): boltwright.volume
---@operator div(number): boltwright.volume
---@class boltwright.time: boltwright.quantity
---@operator add(boltwright.time): boltwright.time
---@operator sub(boltwright.time): boltwright.time
---@operator mul(number): boltwright.time
---@operator div(number): boltwright.time
---@class boltwright.places
---@class boltwright.points
---@class boltwright.stage
---@class boltwright.reading
---@class boltwright.value

-- Quantities: a figure and its unit.

---number (a bare number)
---@param figure number
---@return boltwright.number
function number(figure) end

---number (%)
---@param figure number
---@return boltwright.number
function percent(figure) end

---torque (N.m)
---@param figure number
---@return boltwright.torque
function Nm(figure) end

---torque (lbf.ft)
---@param figure number
---@return boltwright.torque
function lbf_ft(figure) end

---torque (lbf.in)
---@param figure number
---@return boltwright.torque
function lbf_in(figure) end

---torque (kgf.m)
---@param figure number
---@return boltwright.torque
function kgf_m(figure) end

---torque (kgf.cm)
---@param figure number
---@return boltwright.torque
function kgf_cm(figure) end

---torque (ozf.in)
---@param figure number
---@return boltwright.torque
function ozf_in(figure) end

---torque (dN.m)
---@param figure number
---@return boltwright.torque
function dNm(figure) end

---force (N)
---@param figure number
---@return boltwright.force
function N(figure) end

---force (kN)
---@param figure number
---@return boltwright.force
function kN(figure) end

---force (lbf)
---@param figure number
---@return boltwright.force
function lbf(figure) end

---force (kgf)
---@param figure number
---@return boltwright.force
function kgf(figure) end

---length (mm)
---@param figure number
---@return boltwright.length
function mm(figure) end

---length (um)
---@param figure number
---@return boltwright.length
function um(figure) end

---length (cm)
---@param figure number
---@return boltwright.length
function cm(figure) end

---length (m)
---@param figure number
---@return boltwright.length
function m(figure) end

---length (in)
---@param figure number
---@return boltwright.length
function inch(figure) end

---length (thou)
---@param figure number
---@return boltwright.length
function thou(figure) end

---stress (MPa)
---@param figure number
---@return boltwright.stress
function MPa(figure) end

---stress (psi)
---@param figure number
---@return boltwright.stress
function psi(figure) end

---stress (ksi)
---@param figure number
---@return boltwright.stress
function ksi(figure) end

---stress (bar)
---@param figure number
---@return boltwright.stress
function bar(figure) end

---angle (deg)
---@param figure number
---@return boltwright.angle
function deg(figure) end

---angle (turn)
---@param figure number
---@return boltwright.angle
function turn(figure) end

---angle (rad)
---@param figure number
---@return boltwright.angle
function rad(figure) end

---temperature (degC)
---@param figure number
---@return boltwright.temperature
function degC(figure) end

---temperature (degF)
---@param figure number
---@return boltwright.temperature
function degF(figure) end

---mass (kg)
---@param figure number
---@return boltwright.mass
function kg(figure) end

---mass (g)
---@param figure number
---@return boltwright.mass
function g(figure) end

---mass (lb)
---@param figure number
---@return boltwright.mass
function lb(figure) end

---volume (mm3)
---@param figure number
---@return boltwright.volume
function mm3(figure) end

---volume (cm3)
---@param figure number
---@return boltwright.volume
function cm3(figure) end

---volume (in3)
---@param figure number
---@return boltwright.volume
function in3(figure) end

---time (s)
---@param figure number
---@return boltwright.time
function s(figure) end

---time (min)
---@param figure number
---@return boltwright.time
function min(figure) end

---time (h)
---@param figure number
---@return boltwright.time
function h(figure) end

---The same quantity in another unit: to(lbf_ft(28), "N.m").
---@generic T: boltwright.quantity
---@param quantity T
---@param unit string
---@return T
function to(quantity, unit) end

---A figure that the manual gives twice: both(Nm(60), lbf_ft(44)) is the first one.
---@generic T: boltwright.quantity
---@param first T
---@param second T
---@return T
function both(first, second) end

-- Words: steps, groups, and what stands in them.

---@class boltwright.sequence_fields
---@field title string what is built
---@field engine string which engine or joint
---@field edition string? of this sequence
---@field document string the manual that the figures are from
---@field revision string? of that manual
---@field invented boolean? true where the figures are from no manual
---@field torque_unit string? the manual's unit: "N.m", "lbf.ft" ...
---@field rule "simple"|"guarded"|"guarded_95"|nil which values are accepted

---The heading, once, first.
---@param fields boltwright.sequence_fields
---@return string
function sequence(fields) end

---@class boltwright.caution_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so

---Something to be read.
---@param fields boltwright.caution_fields
---@return string
function caution(fields) end

---@class boltwright.buries
---@field say string what can no longer be reached
---@field steps string|string[] ids of the steps whose work it is: proved to be over before

---@class boltwright.confirm_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field position string? how the crank must stand
---@field moves boolean? how it stands is not known afterwards
---@field since string? id of the step from which time counts
---@field most boltwright.time? no later than this after `since`
---@field buries string|boltwright.buries|nil what can no longer be reached afterwards

---Something to be done and confirmed.
---@param fields boltwright.confirm_fields
---@return string
function confirm(fields) end

---@class boltwright.note_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so

---Something to be written down.
---@param fields boltwright.note_fields
---@return string
function note(fields) end

---@class boltwright.ask_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field answers string[] what can be answered

---A question with few answers.
---@param fields boltwright.ask_fields
---@return string
function ask(fields) end

---@class boltwright.wait_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field since string? id of the step from which time counts
---@field least boltwright.time not before this after `since`

---Time that must pass.
---@param fields boltwright.wait_fields
---@return string
function wait(fields) end

---@class boltwright.choose_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field row string? id of the question that chooses the row
---@field column string? id of the question that chooses the column
---@field parts string[]|string[][]|nil the table
---@field of {step: string, value: string}? the value that chooses from `stock`
---@field stock boltwright.length[]? the sizes in the drawer
---@field within boltwright.length? how far the size may be from the value

---A part out of a table, by answers.
---@param fields boltwright.choose_fields
---@return string
function choose(fields) end

---@class boltwright.fit_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field position string? how the crank must stand
---@field moves boolean? how it stands is not known afterwards
---@field since string? id of the step from which time counts
---@field most boltwright.time? no later than this after `since`
---@field buries string|boltwright.buries|nil what can no longer be reached afterwards
---@field part string what is fitted: "main bearing cap"
---@field to string[] the places: one part goes to each
---@field marks string[]? what stands on each part
---@field as string? id of an earlier fit{}: each part goes back to its place

---A part for each place, told by its mark.
---@param fields boltwright.fit_fields
---@return string
function fit(fields) end

---@class boltwright.forbid_fields
---@field say string what the builder reads
---@field why string? the reason
---@field from string id: from when this step is done
---@field to string id: until this one is done

---What must not happen between two steps.
---@param fields boltwright.forbid_fields
---@return string
function forbid(fields) end

---@class boltwright.group_fields
---@field name string name of the group, for `group = `
---@field say string what the builder reads
---@field thread string? "M11x1.25"
---@field class string? "10.9"
---@field joint "A"|"B"|"C"|nil A: danger to life; needs a trace and a second person
---@field lubricant string on thread and under head; never left out
---@field washers string? which, and their way up
---@field new_each_time boolean? used once
---@field reuse "never"|"after_check"|"free"|nil whether one may be used again
---@field reuse_check string? with "after_check": what is checked before
---@field cycles integer? how often one may be tightened, on trial too
---@field places boltwright.places grid{}, circle{}, places{} or labels{}
---@field order "spiral"|"crosswise"|"rings"|"rows"|"listed"|nil in which the places are tightened
---@field reversed boolean? the order backwards, as for loosening
---@field mirrored boolean? the other bank
---@field document string? where these figures are from, if not from the manual of sequence{}
---@field revision string? of that document

---Fasteners tightened together.
---@param fields boltwright.group_fields
---@return string
function group(fields) end

---@class boltwright.measure_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field gauge string? what it is read with
---@field temperature boltwright.temperature[]? of the part: from the one to the other
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field position string? how the crank must stand
---@field moves boolean? how it stands is not known afterwards
---@field buries string|boltwright.buries|nil what can no longer be reached afterwards
---@field readings boltwright.reading[] reading{ ... }
---@field derive boltwright.value[]? value{ ... }

---Readings and what follows from them.
---@param fields boltwright.measure_fields
---@return string
function measure(fields) end

---@class boltwright.tighten_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field why string? the reason
---@field group string name of the group
---@field after string|string[]|nil ids of steps that must be done before
---@field when {step: string, answer: string}? only where that question was answered so
---@field position string? how the crank must stand
---@field moves boolean? how it stands is not known afterwards
---@field since string? id of the step from which time counts
---@field most boltwright.time? no later than this after `since`
---@field buries string|boltwright.buries|nil what can no longer be reached afterwards
---@field trial boolean? its fasteners come off again
---@field continues string? id of the step that these fasteners go on from
---@field order "spiral"|"crosswise"|"rings"|"rows"|"listed"|nil its own way through the places
---@field reversed boolean? backwards
---@field stages boltwright.stage[] torque{ ... }, angle{ ... } ...
---@field due string? what is to be done after the build is closed

---Stages over a group.
---@param fields boltwright.tighten_fields
---@return string
function tighten(fields) end

---@class boltwright.grid_fields
---@field rows integer how many rows
---@field columns integer how many columns
---@field dx boltwright.length between columns
---@field dy boltwright.length between rows
---@field labels string[]? one for each place

---Places in rows and columns.
---@param fields boltwright.grid_fields
---@return boltwright.places
function grid(fields) end

---@class boltwright.circle_fields
---@field n integer how many places
---@field diameter boltwright.length of the circle
---@field labels string[]? one for each place

---Places on a circle.
---@param fields boltwright.circle_fields
---@return boltwright.places
function circle(fields) end

---@class boltwright.places_fields
---@field [integer] {label: string, x: boltwright.length, y: boltwright.length}

---Places one by one: { label = "1", x = mm(0), y = mm(0) }.
---@param fields boltwright.places_fields
---@return boltwright.places
function places(fields) end

---@class boltwright.labels_fields
---@field [integer] string

---Places by name alone.
---@param fields boltwright.labels_fields
---@return boltwright.places
function labels(fields) end

---@class boltwright.points_fields
---@field [integer] string[] labels: each with every one of the other lists

---Points to measure at, every label with every other.
---@param fields boltwright.points_fields
---@return boltwright.points
function points(fields) end

---@class boltwright.reading_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field unit string what a bare number means: "mm"
---@field decimals integer what the gauge shows
---@field at string[]|boltwright.points|nil points at which it is read
---@field plausible boltwright.quantity[] the least and the most that can be
---@field repeats integer? how often each point is read
---@field spread boltwright.quantity? by how much these readings may differ

---Readings of one thing.
---@param fields boltwright.reading_fields
---@return boltwright.reading
function reading(fields) end

---@class boltwright.value_fields
---@field id string name of the step: letters, digits, dashes
---@field say string what the builder reads
---@field formula string "taper", "mean" ...
---@field of string|string[] ids of readings of this step
---@field unit string what a bare number means: "mm"
---@field decimals integer what the gauge shows
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field when_low string? what to do where it is too low
---@field when_high string? what to do where it is too high

---A value worked out from readings.
---@param fields boltwright.value_fields
---@return boltwright.value
function value(fields) end

---@class boltwright.torque_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field within boltwright.quantity? instead of low and high: so far from the target
---@field least_turn boltwright.angle? it must turn so far at least
---@field again boolean? the same torque once more on purpose
---@field above_prevailing boolean? on top of the prevailing torque
---@field document string? where this figure is from
---@field revision string? of that document
---@field [integer] boltwright.torque

---To a torque: torque{ Nm(60), within = percent(5) }.
---@param fields boltwright.torque_fields
---@return boltwright.stage
function torque(fields) end

---@class boltwright.torque_angle_fields
---@field snug boltwright.torque from where the turn counts
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field within boltwright.quantity? instead of low and high: so far from the target
---@field floor boltwright.torque? least torque at the end
---@field ceiling boltwright.torque? most torque at the end
---@field above_prevailing boolean? on top of the prevailing torque
---@field document string? where this figure is from
---@field revision string? of that document
---@field [integer] boltwright.angle

---To a snug torque, then through an angle counted from there.
---@param fields boltwright.torque_angle_fields
---@return boltwright.stage
function torque_angle(fields) end

---@class boltwright.angle_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field within boltwright.quantity? instead of low and high: so far from the target
---@field floor boltwright.torque? least torque at the end
---@field ceiling boltwright.torque? most torque at the end
---@field from boltwright.torque? counted from where the torque rises through this
---@field above_prevailing boolean? on top of the prevailing torque
---@field document string? where this figure is from
---@field revision string? of that document
---@field [integer] boltwright.angle

---On through an angle.
---@param fields boltwright.angle_fields
---@return boltwright.stage
function angle(fields) end

---@class boltwright.back_off_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field within boltwright.quantity? instead of low and high: so far from the target
---@field until_loose boolean? until no torque is left
---@field document string? where this figure is from
---@field revision string? of that document
---@field [integer] boltwright.angle

---Back through an angle, or until it is loose.
---@param fields boltwright.back_off_fields
---@return boltwright.stage
function back_off(fields) end

---@class boltwright.yield_fields
---@field share boltwright.number of the steepest slope, percent(50)
---@field snug boltwright.torque from where the turn counts
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.torque highest torque
---@field most_turn boltwright.angle? no farther than this
---@field above_prevailing boolean? on top of the prevailing torque
---@field document string? where this figure is from
---@field revision string? of that document

---On until the slope of torque over angle falls.
---@param fields boltwright.yield_fields
---@return boltwright.stage
function yield(fields) end

---@class boltwright.stretch_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field within boltwright.quantity? instead of low and high: so far from the target
---@field about boltwright.torque? torque at which to measure first
---@field ceiling boltwright.torque? most torque at the end
---@field document string? where this figure is from
---@field revision string? of that document
---@field [integer] boltwright.length

---Until it has grown so much longer.
---@param fields boltwright.stretch_fields
---@return boltwright.stage
function stretch(fields) end

---@class boltwright.slot_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field slots integer positions in a turn, 3 to 24
---@field above_prevailing boolean? on top of the prevailing torque
---@field document string? where this figure is from
---@field revision string? of that document

---Castle nut: to a least torque, then on to the next slot.
---@param fields boltwright.slot_fields
---@return boltwright.stage
function slot(fields) end

---@class boltwright.check_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field most_turn boltwright.angle? no farther than this
---@field above_prevailing boolean? on top of the prevailing torque
---@field document string? where this figure is from
---@field revision string? of that document

---The torque at which a tightened one just moves.
---@param fields boltwright.check_fields
---@return boltwright.stage
function check(fields) end

---@class boltwright.prevailing_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field least_turn boltwright.angle? it must turn so far at least
---@field document string? where this figure is from
---@field revision string? of that document

---The torque of a locking feature, while it is run down.
---@param fields boltwright.prevailing_fields
---@return boltwright.stage
function prevailing(fields) end

---@class boltwright.rotating_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field least_turn boltwright.angle? it must turn so far at least
---@field document string? where this figure is from
---@field revision string? of that document

---The torque that keeps a shaft turning.
---@param fields boltwright.rotating_fields
---@return boltwright.stage
function rotating(fields) end

---@class boltwright.creep_fields
---@field low boltwright.quantity? lowest that is accepted
---@field high boltwright.quantity? highest that is accepted
---@field least_turn boltwright.angle? it must turn so far at least
---@field document string? where this figure is from
---@field revision string? of that document

---Crush sleeve: tightened bit by bit, never back.
---@param fields boltwright.creep_fields
---@return boltwright.stage
function creep(fields) end

-- Formulas of the trade; docs/trade.md has their arguments and an example of each.

---diameters, stress area and lead angle of a thread
function thread_size(arguments) end
---proof, yield and tensile strength and loads of a class on a thread
function fastener_class(arguments) end
---mean diameter and area of the ring on which a head bears
function bearing_ring(arguments) end
---bearing diameters of a hexagon head over a clearance hole
function hexagon_head(arguments) end
---tension that a torque gives with this friction; show it as a band
function preload(arguments) end
---torque that gives a tension with this friction
function torque_for_preload(arguments) end
---what the torque goes into: pitch, thread, head; and the nut factor
function torque_shares(arguments) end
---torque that loosens
function loosening_torque(arguments) end
---tension by the nut factor, T = K d F
function preload_k(arguments) end
---torque by the nut factor, T = K d F
function torque_k(arguments) end
---tension at which tightening uses that share of yield
function permissible_preload(arguments) end
---torque at which tightening uses that share of yield
function permissible_torque(arguments) end
---stress while tightening, beside proof and yield
function tightening_stress(arguments) end
---torque for the same tension with another lubricant
function torque_for_friction(arguments) end
---the same by nut factors
function torque_for_nut_factor(arguments) end
---setting for a locking fastener: target and running torque
function torque_with_prevailing(arguments) end
---one torque out of a range for all fasteners of a joint: its middle
function series_torque(arguments) end
---band of preload by the way of tightening, never one number
function scatter_band(arguments) end
---half-width of the band from the tightening factor
function half_width(arguments) end
---tightening factor from the half-width of the band
function tightening_factor(arguments) end
---least and most preload from a range of torque, after relaxation and heat
function preload_limits(arguments) end
---friction or nut factor by name, with its source; never a default
function lubricant_preset(arguments) end
---which place is tightened at which turn
function fastener_order(arguments) end
---torque and order of one round over a flange
function flange_round(arguments) end
---stiffness of a stepped bolt
function bolt_stiffness(arguments) end
---stiffness of shank and thread, 0.4 d added at each end
function plain_bolt_stiffness(arguments) end
---stiffness of the clamped parts, two cones of 30 degrees
function joint_stiffness(arguments) end
---what bolt and joint feel of an outer load
function load_share(arguments) end
---tension gained by turning on from the snug point
function preload_from_angle(arguments) end
---angle from the snug point for a gain in tension
function angle_for_preload(arguments) end
---how much longer a bolt is under tension
function stretch_for_preload(arguments) end
---tension from a measured stretch
function preload_from_stretch(arguments) end
---length of the thread's stress area that gives as much as the whole bolt
function effective_length(arguments) end
---stretch or permanent set of one fastener
function length_gain(arguments) end
---mean of readings
function mean(arguments) end
---largest of readings
function largest(arguments) end
---smallest of readings
function smallest(arguments) end
---largest minus smallest reading
function range(arguments) end
---spread of diameters along the axis
function taper(arguments) end
---spread of diameters in one plane
function out_of_round(arguments) end
---taper of the worse of two directions
function worst_taper(arguments) end
---out-of-round of the worst plane
function worst_out_of_round(arguments) end
---smallest bore minus largest shaft
function clearance_least(arguments) end
---largest bore minus smallest shaft
function clearance_most(arguments) end
---smallest bore of the tightened shells minus largest journal
function oil_clearance_least(arguments) end
---largest bore of the tightened shells minus smallest journal
function oil_clearance_most(arguments) end
---smallest bore minus largest piston at its gauge point
function piston_clearance(arguments) end
---largest dial reading of the shaft pushed to and fro
function end_float(arguments) end
---largest feeler reading at tip, body or side of an oil pump
function pump_clearance(arguments) end
---mean depth of the piston on both sides of its pin
function deck_height(arguments) end
---least stretch of a group of fasteners
function stretch_least(arguments) end
---largest stretch of a group of fasteners
function stretch_most(arguments) end
---longest growth of fasteners once used
function permanent_set(arguments) end
---least clearance between valve and piston, position by position
function valve_to_piston(arguments) end
---heaviest minus lightest of parts that should be alike
function weight_spread(arguments) end
---size, out-of-round and taper of a bore or journal
function bore_form(arguments) end
---size at 20 degrees C of a part measured warmer or colder
function size_at_20(arguments) end
---clearance at 20 degrees C of two parts of other materials
function clearance_at_20(arguments) end
---expansion of a material near room temperature, 1e-6 for each kelvin
function expansion(arguments) end
---a thousandth of the journal: a trade habit, not a specification
function oil_clearance_habit(arguments) end
---clearance from a squeezed plastic strip by its card
function plastic_gauge(arguments) end
---gap by a rule that you name
function ring_gap(arguments) end
---what is left to file, or that the ring is scrap
function ring_filing(arguments) end
---what a ring's gap grows with its bore
function ring_gap_growth(arguments) end
---mean torque of something turning, the peak at the start left out
function running_torque(arguments) end
---new, worn, over_worn, reject or outside, by a manual's four limits
function standing(arguments) end
---the shim of the stock nearest to what is needed
function shim(arguments) end
---bearing shells by a maker's two-way table; measure afterwards
function shells(arguments) end
---compression ratio and the volumes that make it
function compression(arguments) end
---least clearance between valve and piston from dial and degree wheel
function valve_clearance(arguments) end
---middle of a lobe from two angles of equal lift
function cam_centreline(arguments) end
---mean, standard deviation, lag-1 autocorrelation, median, MAD
function statistics(arguments) end
---standard uncertainty of a mean of repeated readings
function type_a(arguments) end
---standard uncertainty from what else is known
function type_b(arguments) end
---combined standard uncertainty and effective degrees of freedom
function combine(arguments) end
---k for a coverage probability
function coverage_factor(arguments) end
---probability that the true value is within limits
function conformance(arguments) end
---pass, pass_within, fail_within or fail under a decision rule
function decision(arguments) end
---constants of control charts
function chart_constants(arguments) end
---limits of a chart of means and ranges
function chart_of_ranges(arguments) end
---limits of a chart of single values
function chart_of_values(arguments) end
---Cp, Cpk and their confidence limits
function capability(arguments) end
---distribution function of the standard normal
function normal(arguments) end
---its inverse
function normal_quantile(arguments) end
---inverse of Student's distribution
function student_quantile(arguments) end
---inverse of the chi squared distribution
function chi_square_quantile(arguments) end
---gravity of a place, m/s2
function gravity(arguments) end
---density of air, kg/m3
function air_density(arguments) end
---torque of a weight on a level lever, buoyancy taken off
function dead_weight(arguments) end
---mass for a torque on a level lever
function dead_weight_mass(arguments) end
---what to set on a wrench with a crowfoot or extension
function adapter_setting(arguments) end
---torque at the fastener from a reading with a crowfoot or extension
function adapter_torque(arguments) end
---mean relative error of a tool; the reference is the divisor
function tool_error(arguments) end
