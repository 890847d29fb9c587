/* members.c - see members.h. */
#include "face/members.h"

#include <math.h>

void bw_set_text(json_t *object, const char *name, const char *text) {
    if (text != NULL) {
        (void)json_object_set_new(object, name, json_string(text));
    }
}

void bw_set_number(json_t *object, const char *name, double number) {
    if (isfinite(number)) {
        (void)json_object_set_new(object, name, json_real(number));
    }
}

void bw_set_positive(json_t *object, const char *name, double number) {
    if (number > 0) {
        bw_set_number(object, name, number);
    }
}

void bw_set_whole(json_t *object, const char *name, size_t whole) {
    (void)json_object_set_new(object, name, json_integer((json_int_t)whole));
}

void bw_set_flag(json_t *object, const char *name, bool flag) {
    (void)json_object_set_new(object, name, json_boolean(flag));
}
