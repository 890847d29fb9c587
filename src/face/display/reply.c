/* reply.c - see reply.h. */
#include "face/display/reply.h"

#include <string.h>

void bw_reply_json(bw_http_answer *answer, unsigned status, const char *json) {
    *answer = (bw_http_answer){
        .status = status, .type = "application/json", .body = json, .len = strlen(json)};
}

void bw_reply_refuse(bw_http_answer *answer, unsigned status) {
    static const struct {
        unsigned status;
        const char *text;
    } texts[] = {
        {400, "{\"error\":\"the request is not as this page makes it\"}"},
        {BW_REPLY_UNPAIRED, "{\"error\":\"this screen is not paired: load the page anew\"}"},
        {403, "{\"error\":\"not from this page\"}"},
        {404, "{\"error\":\"there is no such thing here\"}"},
        {405, "{\"error\":\"not in this way\"}"},
        {409, "{\"error\":\"the bench has moved on; look what it asks now\"}"},
        {415, "{\"error\":\"JSON only\"}"},
        {421, "{\"error\":\"this is not what the bench is called\"}"},
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (texts[i].status == status) {
            bw_reply_json(answer, status, texts[i].text);
        }
    }
    answer->stays = true;
}

json_t *bw_reply_read(const bw_http_request *r, const char *const *name, size_t n) {
    json_t *object = json_loadb(r->body, r->body_len, JSON_REJECT_DUPLICATES, NULL);
    bool good = json_is_object(object) && json_object_size(object) == n;
    for (size_t i = 0; i < n && good; i++) {
        good = json_is_string(json_object_get(object, name[i]));
    }
    if (!good) {
        json_decref(object);
        object = NULL;
    }
    return object;
}

const char *bw_reply_text(const json_t *object, const char *name) {
    return json_string_value(json_object_get(object, name));
}
