/* members.h - members of JSON objects that faces write.
 *
 * Room: face.  What is not known (NULL, no finite number) has no member. */
#ifndef BW_FACE_MEMBERS_H
#define BW_FACE_MEMBERS_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

void bw_set_text(json_t *object, const char *name, const char *text);
void bw_set_number(json_t *object, const char *name, double number);
void bw_set_positive(json_t *object, const char *name, double number);
void bw_set_whole(json_t *object, const char *name, size_t whole);
void bw_set_flag(json_t *object, const char *name, bool flag);

#endif
