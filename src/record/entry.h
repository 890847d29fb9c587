/* entry.h - one line of the record: its kinds, its members, and its one JSON text.
 *
 * Room: record.  The two tables below are the registry: docs/record-format.md is checked against
 * them.  Add at the end, never change a name or a meaning.  An entry of a kind or with a member
 * that this program does not know is kept and shown, never dropped.
 *
 * JSON: members sorted by name, compact, UTF-8, numbers by bw_number_text: one text for one
 * entry.  Members common to all kinds: build, kind, time, by, bench, and rehearsal (true) where it
 * is one. */
#ifndef BW_RECORD_ENTRY_H
#define BW_RECORD_ENTRY_H

#include "base/arena.h"
#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BW_ENTRY_BYTES_MAX = 4 << 20 };

/* The build of entries that are about the bench; no build is called so. */
#define BW_BUILD_NONE "-"

/* M(symbol, name, type, what it says).  Types: TEXT; NUMBER a finite double; WHOLE an integer;
 * FLAG true or false; WORDS a list of words (in C: one text, words parted by a space). */
#define BW_ENTRY_MEMBERS(M)                                                                        \
    M(STEP, "step", TEXT, "id of the step in the sequence")                                        \
    M(GROUP, "group", TEXT, "name of the group of fasteners")                                      \
    M(FASTENER, "fastener", WHOLE, "place number in the group, from 1")                            \
    M(LABEL, "label", TEXT, "label of the place")                                                  \
    M(STAGE, "stage", WHOLE, "stage of the step, from 1")                                          \
    M(ATTEMPT, "attempt", WHOLE, "how often this fastener was begun anew in this step, from 1")    \
    M(TEXT, "text", TEXT, "a sentence, or the text of a sequence")                                 \
    M(TYPED, "typed", TEXT, "what the builder typed, as typed")                                    \
    M(ENGINE, "engine", TEXT, "engine or joint that the sequence is for")                          \
    M(TITLE, "title", TEXT, "title of the sequence")                                               \
    M(EDITION, "edition", TEXT, "edition of the sequence")                                         \
    M(DOCUMENT, "document", TEXT, "source of the figures, with its revision")                      \
    M(INVENTED, "invented", FLAG, "the figures are invented: not for real work")                   \
    M(FILE, "file", TEXT, "name of a file")                                                        \
    M(MODULES, "modules", WORDS, "SHA-256 of each module's text, in order of use")                 \
    M(PROGRAM, "program", TEXT, "program and version that wrote the entry")                        \
    M(SET, "set", TEXT, "id of the set of readings")                                               \
    M(AT, "at", TEXT, "where the reading was taken")                                               \
    M(VALUE, "value", NUMBER, "in `unit`")                                                         \
    M(UNIT, "unit", TEXT, "unit of value, low and high")                                           \
    M(LOW, "low", NUMBER, "lowest accepted, inclusive, in `unit`")                                 \
    M(HIGH, "high", NUMBER, "highest accepted, inclusive, in `unit`")                              \
    M(GAUGE, "gauge", TEXT, "gauge that was used")                                                 \
    M(DERIVED, "derived", TEXT, "id of the derived value")                                         \
    M(FORMULA, "formula", TEXT, "name of the formula of the trade")                                \
    M(VERDICT, "verdict", TEXT, "pass, low, high or suspect")                                      \
    M(REASONS, "reasons", WORDS, "reason words of the verdict")                                    \
    M(PEAK_NM, "peak_torque_Nm", NUMBER, "highest torque, spikes left out")                        \
    M(TURN_DEG, "turn_deg", NUMBER, "turn of the joint in this pull")                              \
    M(FINAL_DEG, "final_angle_deg", NUMBER, "turn of the joint over all pulls of this attempt")    \
    M(PULLS, "pulls", WHOLE, "pulls of this attempt so far")                                       \
    M(SAMPLES, "samples", WHOLE, "samples in the trace")                                           \
    M(ASKED, "asked", FLAG, "a pull on this fastener was asked for")                               \
    M(COMPLETE, "complete", FLAG, "the pull was seen from rest to rest")                           \
    M(TRACE, "trace", TEXT, "SHA-256 of the samples (table trace)")                                \
    M(RAW, "raw", TEXT, "SHA-256 of the device's bytes with their times (table trace)")            \
    M(LUBRICANT, "lubricant", TEXT, "lubricant on thread and under head")                          \
    M(LOW_NM, "low_Nm", NUMBER, "lowest torque accepted")                                          \
    M(HIGH_NM, "high_Nm", NUMBER, "highest torque accepted")                                       \
    M(LOW_DEG, "low_deg", NUMBER, "least turn accepted")                                           \
    M(HIGH_DEG, "high_deg", NUMBER, "most turn accepted")                                          \
    M(RULE, "rule", TEXT, "decision rule: simple or guarded")                                      \
    M(TOOL, "tool", TEXT, "name of the wrench, adapter or gauge")                                  \
    M(PORT, "port", TEXT, "serial port")                                                           \
    M(DRIVER, "driver", TEXT, "driver and its version")                                            \
    M(SETTINGS, "settings", TEXT, "settings of the driver and line")                               \
    M(DECISION, "decision", TEXT, "what was decided")                                              \
    M(REASON, "reason", TEXT, "why, in the person's own words")                                    \
    M(SECOND, "second_person", TEXT, "who else stands for it")                                     \
    M(PERSON, "person", TEXT, "name or initials")                                                  \
    M(CORRECTS, "corrects", WHOLE, "number of the entry that this one corrects")                   \
    M(OF, "of", WHOLE, "number of the entry that this one is about")                               \
    M(OUTCOME, "outcome", TEXT, "complete, paused or rejected")                                    \
    M(BY_S, "by_s", NUMBER, "seconds")                                                             \
    M(SHA256, "sha256", TEXT, "SHA-256 of a document, hex")                                        \
    M(MORE, "more", FLAG, "another pull can mend it: nothing to decide")                           \
    M(SNUG, "snug_reached", FLAG, "the snug torque, where the angle begins, was reached")          \
    M(JUDGED_NM, "judged_torque_Nm", NUMBER, "the torque that was held against the limits")        \
    M(UNCERTAINTY_NM, "uncertainty_Nm", NUMBER,                                                    \
      "expanded uncertainty of judged_torque_Nm (k = 2)")                                          \
    M(UNCERTAINTY_DEG, "uncertainty_deg", NUMBER, "expanded uncertainty of a turn (k = 2)")        \
    M(UNCERTAINTY_SHARE, "uncertainty_share", NUMBER,                                              \
      "expanded uncertainty of the wrench (k = 2), a share of its torque")                         \
    M(RANGE_LOW_NM, "range_low_Nm", NUMBER, "the wrench is calibrated from here")                  \
    M(RANGE_HIGH_NM, "range_high_Nm", NUMBER, "the wrench is calibrated up to here")               \
    M(SLOPE, "slope_Nm_per_deg", NUMBER, "torque over turn of the joint, wind-up taken off")       \
    M(LOOSE, "loose", FLAG, "no torque was left")                                                  \
    M(STRETCH_MM, "stretch_mm", NUMBER, "how much longer the fastener has become")                 \
    M(LOW_MM, "low_mm", NUMBER, "least stretch accepted")                                          \
    M(HIGH_MM, "high_mm", NUMBER, "most stretch accepted")                                         \
    M(SLOT_MEETS, "slot_meets", FLAG, "a slot of the castle nut meets the hole")                   \
    M(QUESTION, "question", TEXT, "what the numbers made the program ask")                         \
    M(PART, "part", TEXT, "name or number of a part")                                              \
    M(BATCH, "batch", TEXT, "batch that it comes from")                                            \
    M(QUANTITY, "quantity", WHOLE, "how many of them")                                             \
    M(SERIAL_NUMBER, "serial_number", TEXT, "serial number of the part, wrench or gauge")          \
    M(TEMPERATURE_DEGC, "temperature_degC", NUMBER, "temperature of what was measured")            \
    M(CALIBRATED, "calibrated", TEXT, "date of the calibration")                                   \
    M(CALIBRATION_DUE, "calibration_due", TEXT, "date up to which the calibration counts")         \
    M(CERTIFICATE, "certificate", TEXT, "number of the calibration's certificate")                 \
    M(KEY, "key", TEXT, "public key that signs from here on, as C2SP verifier key")                \
    M(KEY_BEFORE, "key_before", TEXT, "public key that signed until here, as C2SP verifier key")   \
    M(DUE, "due", TEXT, "when it is due")                                                          \
    M(ENTRIES, "entries", WHOLE, "entries of this build before this one")                          \
    M(MAKER, "maker", TEXT, "who made the tool")                                                   \
    M(MODEL, "model", TEXT, "what the maker calls it")                                             \
    M(TOOL_TYPE, "tool_type", TEXT, "indicating, setting, ungraduated or gauge")                   \
    M(RANGE_LOW, "range_low", NUMBER, "the tool's range begins here, in `unit`")                   \
    M(RANGE_HIGH, "range_high", NUMBER, "and ends here, in `unit`")                                \
    M(RESOLUTION, "resolution", NUMBER, "smallest step of the tool, in `unit`")                    \
    M(WRENCH, "wrench", TEXT, "how the tool is reached: as --wrench takes it")                     \
    M(FACTOR, "factor", NUMBER, "torque at the fastener for 1 at the square drive")                \
    M(DEVIATION_SHARE, "deviation_share", NUMBER,                                                  \
      "greatest mean deviation from the reference, a share of the torque")                         \
    M(CYCLE, "cycle", WHOLE, "how often this very fastener was made tight, with this time")        \
    M(UNCHECKED, "unchecked", FLAG, "what the wrench sends carries no checksum")                   \
    M(DEVICE_SERIAL, "device_serial", TEXT,                                                        \
      "serial number that the device itself gives, or else its USB plug")                          \
    M(UNREAD, "unread", WHOLE,                                                                     \
      "bytes dropped and lines not understood since the pull before, or since work began")         \
    M(REPEAT, "repeat", WHOLE, "which of the readings at the same point, from 1")                  \
    M(DIRECTION, "direction", TEXT, "which way the tool measures: both, tighten or loosen")        \
    M(WINDUP, "windup_deg_per_Nm", NUMBER, "what the tool itself twists under torque")

typedef enum bw_member {
#define M(symbol, name, type, says) BW_M_##symbol,
    BW_ENTRY_MEMBERS(M)
#undef M
        BW_M_COUNT
} bw_member;

/* K(symbol, name, what it says, members it must have, members it may have); (BW_M_COUNT): none. */
#define BW_ENTRY_KINDS(K)                                                                          \
    K(BUILD_OPENED, "build_opened", "a build begins", (BW_M_PROGRAM), (BW_M_COUNT))                \
    K(SEQUENCE_ADOPTED, "sequence_adopted",                                                        \
      "the sequence that the build goes on with, its whole text in the entry",                     \
      (BW_M_FILE, BW_M_TEXT, BW_M_TITLE, BW_M_ENGINE, BW_M_EDITION, BW_M_DOCUMENT, BW_M_INVENTED), \
      (BW_M_MODULES))                                                                              \
    K(MODULE_ADOPTED, "module_adopted", "a module of that sequence, its whole text",               \
      (BW_M_FILE, BW_M_TEXT), (BW_M_COUNT))                                                        \
    K(PERSON_ON, "person_on", "this person works from here on", (BW_M_PERSON), (BW_M_COUNT))       \
    K(TOOL_ON, "tool_on", "this wrench is used from here on", (BW_M_TOOL, BW_M_PORT, BW_M_DRIVER), \
      (BW_M_SETTINGS, BW_M_RANGE_LOW_NM, BW_M_RANGE_HIGH_NM, BW_M_UNCERTAINTY_SHARE,               \
       BW_M_UNCERTAINTY_DEG, BW_M_SERIAL_NUMBER, BW_M_CALIBRATED, BW_M_CALIBRATION_DUE,            \
       BW_M_CERTIFICATE, BW_M_UNCHECKED, BW_M_DEVICE_SERIAL))                                      \
    K(TOOL_LOST, "tool_lost", "the wrench is gone", (BW_M_TOOL, BW_M_PORT, BW_M_TEXT),             \
      (BW_M_COUNT))                                                                                \
    K(TOOL_BACK, "tool_back", "the wrench is back", (BW_M_TOOL, BW_M_PORT), (BW_M_COUNT))          \
    K(CONFIRMED, "confirmed", "a caution was read, or a thing was done as said", (BW_M_STEP),      \
      (BW_M_TYPED, BW_M_TEXT, BW_M_SECOND))                                                        \
    K(PUT_OFF, "put_off", "the step is left for later", (BW_M_STEP), (BW_M_REASON))                \
    K(READING, "reading", "a reading of a gauge, entered at a step",                               \
      (BW_M_STEP, BW_M_SET, BW_M_AT, BW_M_VALUE, BW_M_UNIT, BW_M_TYPED),                           \
      (BW_M_GAUGE, BW_M_CORRECTS, BW_M_TEMPERATURE_DEGC, BW_M_REPEAT))                             \
    K(DERIVED, "derived",                                                                          \
      "a value computed from readings; with `text` there is none, and that is why",                \
      (BW_M_STEP, BW_M_DERIVED, BW_M_FORMULA, BW_M_VALUE, BW_M_UNIT, BW_M_VERDICT),                \
      (BW_M_LOW, BW_M_HIGH, BW_M_TEXT))                                                            \
    K(PULL_BEGUN, "pull_begun", "the wrench took load",                                            \
      (BW_M_STEP, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT), (BW_M_COUNT))  \
    K(PULL, "pull", "one pull with its trace",                                                     \
      (BW_M_ASKED, BW_M_COMPLETE, BW_M_SAMPLES, BW_M_PEAK_NM, BW_M_TRACE, BW_M_RAW, BW_M_TOOL),    \
      (BW_M_STEP, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT, BW_M_TURN_DEG,  \
       BW_M_REASONS, BW_M_PULLS, BW_M_FINAL_DEG, BW_M_SNUG, BW_M_JUDGED_NM, BW_M_UNCERTAINTY_NM,   \
       BW_M_SLOPE, BW_M_QUESTION, BW_M_UNREAD, BW_M_TYPED))                                        \
    K(VERDICT, "verdict", "what the pulls of this fastener and stage amount to",                   \
      (BW_M_STEP, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT, BW_M_OF,        \
       BW_M_VERDICT, BW_M_REASONS, BW_M_PEAK_NM, BW_M_PULLS, BW_M_LUBRICANT, BW_M_TOOL, BW_M_RULE, \
       BW_M_MORE),                                                                                 \
      (BW_M_SNUG, BW_M_FINAL_DEG, BW_M_LOW_NM, BW_M_HIGH_NM, BW_M_LOW_DEG, BW_M_HIGH_DEG,          \
       BW_M_JUDGED_NM, BW_M_UNCERTAINTY_NM, BW_M_UNCERTAINTY_DEG, BW_M_SLOPE, BW_M_LOOSE,          \
       BW_M_STRETCH_MM, BW_M_LOW_MM, BW_M_HIGH_MM, BW_M_SLOT_MEETS, BW_M_QUESTION, BW_M_CYCLE,     \
       BW_M_DOCUMENT))                                                                             \
    K(DECISION, "decision", "what was decided on a verdict that is not a pass",                    \
      (BW_M_STEP, BW_M_OF, BW_M_DECISION),                                                         \
      (BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT, BW_M_DERIVED, BW_M_REASON, \
       BW_M_SECOND))                                                                               \
    K(CORRECTION, "correction", "an earlier entry was wrong; the old one stays",                   \
      (BW_M_CORRECTS, BW_M_REASON), (BW_M_STEP, BW_M_TEXT, BW_M_LABEL))                            \
    K(NOTE, "note", "something written down", (BW_M_TEXT), (BW_M_STEP, BW_M_OF))                   \
    K(INTERRUPTED, "interrupted", "work was broken off without a pause: power, kill, crash",       \
      (BW_M_TEXT), (BW_M_STEP, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT))   \
    K(PAUSED, "paused", "an orderly pause", (BW_M_COUNT), (BW_M_TEXT, BW_M_ENTRIES))               \
    K(RESUMED, "resumed", "work goes on", (BW_M_PROGRAM), (BW_M_TEXT))                             \
    K(CLOCK_STEP, "clock_step", "the wall clock was set", (BW_M_BY_S), (BW_M_COUNT))               \
    K(BUILD_CLOSED, "build_closed", "the build is finished", (BW_M_OUTCOME),                       \
      (BW_M_TEXT, BW_M_ENTRIES))                                                                   \
    K(FASTENER_LENGTH, "fastener_length", "the length of a fastener, free or tightened",           \
      (BW_M_STEP, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT, BW_M_AT,        \
       BW_M_VALUE, BW_M_UNIT, BW_M_TYPED),                                                         \
      (BW_M_CORRECTS))                                                                             \
    K(FASTENER_SLOT, "fastener_slot", "whether a slot of the castle nut meets the hole",           \
      (BW_M_STEP, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL, BW_M_STAGE, BW_M_ATTEMPT,                 \
       BW_M_SLOT_MEETS, BW_M_TYPED),                                                               \
      (BW_M_COUNT))                                                                                \
    K(PART_FITTED, "part_fitted", "a part that went into the build", (BW_M_PART),                  \
      (BW_M_STEP, BW_M_BATCH, BW_M_QUANTITY, BW_M_SERIAL_NUMBER, BW_M_TEXT, BW_M_AT))              \
    K(FILE_ATTACHED, "file_attached", "a photo or document, by its hash; kept elsewhere",          \
      (BW_M_FILE, BW_M_SHA256), (BW_M_STEP, BW_M_TEXT))                                            \
    K(KEY_CHANGED, "key_changed", "another key signs from here on", (BW_M_KEY),                    \
      (BW_M_KEY_BEFORE, BW_M_REASON))                                                              \
    K(CHECKPOINT_ASKED, "checkpoint_asked", "why the checkpoint that follows was signed",          \
      (BW_M_REASON), (BW_M_COUNT))                                                                 \
    K(BUILD_REOPENED, "build_reopened", "work on a closed build begins anew",                      \
      (BW_M_OF, BW_M_REASON), (BW_M_SECOND))                                                       \
    K(RETORQUE_DUE, "retorque_due", "fasteners that must be seen to again", (BW_M_DUE),            \
      (BW_M_STEP, BW_M_GROUP, BW_M_STAGE, BW_M_TEXT))                                              \
    K(RETORQUE_DONE, "retorque_done", "they were seen to", (BW_M_OF), (BW_M_TEXT))                 \
    K(TOOL_ADDED, "tool_added", "a tool is entered in the register, or entered anew",              \
      (BW_M_TOOL, BW_M_TOOL_TYPE, BW_M_UNIT),                                                      \
      (BW_M_MAKER, BW_M_MODEL, BW_M_SERIAL_NUMBER, BW_M_RANGE_LOW, BW_M_RANGE_HIGH,                \
       BW_M_RESOLUTION, BW_M_WRENCH, BW_M_FACTOR, BW_M_TEXT, BW_M_DIRECTION, BW_M_WINDUP))         \
    K(TOOL_CALIBRATED, "tool_calibrated", "a calibration, its readings in the text",               \
      (BW_M_TOOL, BW_M_CALIBRATED, BW_M_CALIBRATION_DUE, BW_M_UNIT, BW_M_RANGE_LOW,                \
       BW_M_RANGE_HIGH, BW_M_DEVIATION_SHARE, BW_M_UNCERTAINTY_SHARE, BW_M_TEXT),                  \
      (BW_M_CERTIFICATE))                                                                          \
    K(TOOL_RETIRED, "tool_retired", "the tool is not to be used any more",                         \
      (BW_M_TOOL, BW_M_REASON), (BW_M_COUNT))                                                      \
    K(TOOL_CHECKED, "tool_checked", "a check of the tool at the beginning of a shift",             \
      (BW_M_TOOL, BW_M_VALUE, BW_M_UNIT, BW_M_LOW, BW_M_HIGH, BW_M_VERDICT),                       \
      (BW_M_TEXT, BW_M_SAMPLES))                                                                   \
    K(ANSWERED, "answered", "what was answered to a question of the sequence",                     \
      (BW_M_STEP, BW_M_TEXT), (BW_M_TYPED, BW_M_GROUP, BW_M_FASTENER, BW_M_LABEL))                 \
    K(POSITION, "position", "the crank was turned to where a step needs it",                       \
      (BW_M_STEP, BW_M_TEXT), (BW_M_TYPED))                                                        \
    K(OVERRUN, "overrun", "a step was done later than its time allowed", (BW_M_STEP, BW_M_TEXT),   \
      (BW_M_COUNT))                                                                                \
    K(STEP_REDONE, "step_redone", "a step is done anew, and each that stands on it",               \
      (BW_M_STEP, BW_M_REASON), (BW_M_OF))

typedef enum bw_kind {
#define K(symbol, name, says, must, may) BW_KIND_##symbol,
    BW_ENTRY_KINDS(K)
#undef K
        BW_KIND_COUNT,
    BW_KIND_UNKNOWN = BW_KIND_COUNT /* from a newer program: kept, shown, not understood */
} bw_kind;

typedef enum bw_value_type {
    BW_VALUE_NONE = 0,
    BW_VALUE_TEXT,
    BW_VALUE_NUMBER,
    BW_VALUE_WHOLE,
    BW_VALUE_FLAG,
    BW_VALUE_WORDS
} bw_value_type;

typedef struct bw_value {
    bw_value_type type; /* NONE: the entry has no such member */
    union {
        const char *text; /* TEXT, WORDS; borrowed */
        double number;
        int64_t whole;
        bool flag;
    } as;
} bw_value;

/* A plain value.  Texts are borrowed: from the caller while it is being written, from the arena
 * when it was decoded. */
typedef struct bw_entry {
    uint64_t number; /* 0 until it is in the record */
    bw_kind kind;
    const char *kind_name; /* as read; also for UNKNOWN */
    int64_t time_ms;       /* wall clock, UTC */
    const char *build;     /* id of the build */
    const char *by;        /* name or initials of the person */
    const char *bench;
    bool rehearsal;
    bool has_more; /* as read: it has members that this program does not know */
    bw_value value[BW_M_COUNT];
} bw_entry;

/* An entry of that kind with no members. */
bw_entry bw_entry_of(bw_kind kind);

/* Setters; text NULL leaves the member out.  numbers must be finite. */
void bw_entry_set_text(bw_entry *entry, bw_member member, const char *text);
void bw_entry_set_number(bw_entry *entry, bw_member member, double number);
void bw_entry_set_whole(bw_entry *entry, bw_member member, int64_t whole);
void bw_entry_set_flag(bw_entry *entry, bw_member member, bool flag);

/* Getters: the fallback where the entry has no such member (or it has another type). */
const char *bw_entry_text(const bw_entry *entry, bw_member member, const char *fallback);
double bw_entry_number(const bw_entry *entry, bw_member member, double fallback);
int64_t bw_entry_whole(const bw_entry *entry, bw_member member, int64_t fallback);
bool bw_entry_flag(const bw_entry *entry, bw_member member, bool fallback);

/* Registry lookups; static storage, NULL outside. */
const char *bw_kind_name(bw_kind kind);
const char *bw_kind_says(bw_kind kind);
const char *bw_member_name(bw_member member);
const char *bw_member_says(bw_member member);
bw_value_type bw_member_type(bw_member member);

typedef enum bw_membership { BW_MEMBER_NEVER = 0, BW_MEMBER_MAY, BW_MEMBER_MUST } bw_membership;
bw_membership bw_kind_member(bw_kind kind, bw_member member);

/* The entry's one JSON text, checked against the registry, in the arena.
 * BW_E_ARG: a member missing, one too many, a number not finite, a text not printable UTF-8
 * (newlines and tabs are let through in `text`, carriage returns nowhere); build, by or bench
 * missing or empty; more than BW_ENTRY_BYTES_MAX. */
BW_MUST_USE bw_status bw_entry_encode(const bw_entry *entry, bw_arena *arena, const char **json,
                                      size_t *len, bw_err *err);

/* Reads an entry's JSON text.  Strict: the text must be exactly what bw_entry_encode would write
 * for it, but unknown kinds and members are let through, their values being texts, numbers, flags
 * and lists of texts.  out->number is left 0.
 * BW_E_DATA with what is wrong. */
BW_MUST_USE bw_status bw_entry_decode(const char *json, size_t len, bw_arena *arena, bw_entry *out,
                                      bw_err *err);

/* The members of such a text that this program does not know, as one JSON object in the arena.
 * BW_E_DATA where it is no JSON object. */
BW_MUST_USE bw_status bw_entry_more(const char *json, size_t len, bw_arena *arena,
                                    const char **more, bw_err *err);

#endif
