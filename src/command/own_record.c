/* own_record.c - see own_record.h. */
#include "command/own_record.h"

#include "base/text.h"

#include <stdlib.h>

enum { STATE_MAX = 4096 };

/* A relative path counts for nothing (XDG base directories). */
static bool state_folder(char *out) {
    const char *state = getenv("XDG_STATE_HOME");
    const char *user = getenv("HOME");
    bw_text text = bw_text_on(out, STATE_MAX);
    if (state != NULL && state[0] == '/') {
        bw_text_add(&text, "%s/boltwright", state);
    } else if (user != NULL && user[0] == '/') {
        bw_text_add(&text, "%s/.local/state/boltwright", user);
    }
    return text.len > 0 && !text.cut;
}

bw_status bw_own_record_open(const char *home, bw_store_mode mode, bw_store **out, bw_err *err) {
    char state[STATE_MAX];
    bool known = state_folder(state);
    return bw_store_open_with(home, known ? state : NULL, mode, out, err);
}
