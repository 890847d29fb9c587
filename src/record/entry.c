/* entry.c - an entry as a value: making one, setting and getting its members. */
#include "record/entry.h"

bw_entry bw_entry_of(bw_kind kind) {
    return (bw_entry){.kind = kind, .kind_name = bw_kind_name(kind)};
}

void bw_entry_set_text(bw_entry *entry, bw_member member, const char *text) {
    bool words = bw_member_type(member) == BW_VALUE_WORDS;
    entry->value[member] = (bw_value){
        .type = text == NULL ? BW_VALUE_NONE
                : words      ? BW_VALUE_WORDS
                             : BW_VALUE_TEXT,
        .as.text = text,
    };
}

void bw_entry_set_number(bw_entry *entry, bw_member member, double number) {
    entry->value[member] = (bw_value){.type = BW_VALUE_NUMBER, .as.number = number};
}

void bw_entry_set_whole(bw_entry *entry, bw_member member, int64_t whole) {
    entry->value[member] = (bw_value){.type = BW_VALUE_WHOLE, .as.whole = whole};
}

void bw_entry_set_flag(bw_entry *entry, bw_member member, bool flag) {
    entry->value[member] = (bw_value){.type = BW_VALUE_FLAG, .as.flag = flag};
}

const char *bw_entry_text(const bw_entry *entry, bw_member member, const char *fallback) {
    const bw_value *value = &entry->value[member];
    bool is_text = value->type == BW_VALUE_TEXT || value->type == BW_VALUE_WORDS;
    return is_text ? value->as.text : fallback;
}

double bw_entry_number(const bw_entry *entry, bw_member member, double fallback) {
    const bw_value *value = &entry->value[member];
    return value->type == BW_VALUE_NUMBER ? value->as.number : fallback;
}

int64_t bw_entry_whole(const bw_entry *entry, bw_member member, int64_t fallback) {
    const bw_value *value = &entry->value[member];
    return value->type == BW_VALUE_WHOLE ? value->as.whole : fallback;
}

bool bw_entry_flag(const bw_entry *entry, bw_member member, bool fallback) {
    const bw_value *value = &entry->value[member];
    return value->type == BW_VALUE_FLAG ? value->as.flag : fallback;
}
