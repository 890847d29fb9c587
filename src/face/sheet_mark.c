/* sheet_mark.c - the words of the marks, for the program and for what draws. */
#include "face/sheet.h"

const char *bw_mark_word(bw_mark mark) {
    static const char *const words[BW_MARK_COUNT] = {
        [BW_MARK_NONE] = "",
        [BW_MARK_ACCEPTED] = "accepted",
        [BW_MARK_DECIDED] = "by decision",
        [BW_MARK_LOW] = "low",
        [BW_MARK_HIGH] = "high",
        [BW_MARK_SUSPECT] = "suspect",
        [BW_MARK_PART] = "some stages done",
        [BW_MARK_OPEN] = "not tightened",
    };
    return (size_t)mark < BW_MARK_COUNT ? words[mark] : NULL;
}
