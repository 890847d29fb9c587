/* registry.c - the tables of entry.h as data: names, types, and which member belongs where. */
#include "record/entry.h"

enum { LIST_MAX = 24 };

static const struct {
    const char *name;
    bw_value_type type;
    const char *says;
} members[] = {
#define M(symbol, name, type, says) {name, BW_VALUE_##type, says},
    BW_ENTRY_MEMBERS(M)
#undef M
};

/* Each list ends with BW_M_COUNT. */
static const struct {
    const char *name;
    const char *says;
    bw_member must[LIST_MAX];
    bw_member may[LIST_MAX];
} kinds[] = {
#define LIST(...)                                                                                  \
    { __VA_ARGS__, BW_M_COUNT }
#define K(symbol, name, says, must, may) {name, says, LIST must, LIST may},
    BW_ENTRY_KINDS(K)
#undef K
#undef LIST
};

static bool kind_known(bw_kind kind) {
    return (unsigned)kind < BW_KIND_COUNT;
}

static bool member_known(bw_member member) {
    return (unsigned)member < BW_M_COUNT;
}

const char *bw_kind_name(bw_kind kind) {
    return kind_known(kind) ? kinds[kind].name : NULL;
}

const char *bw_kind_says(bw_kind kind) {
    return kind_known(kind) ? kinds[kind].says : NULL;
}

const char *bw_member_name(bw_member member) {
    return member_known(member) ? members[member].name : NULL;
}

const char *bw_member_says(bw_member member) {
    return member_known(member) ? members[member].says : NULL;
}

bw_value_type bw_member_type(bw_member member) {
    return member_known(member) ? members[member].type : BW_VALUE_NONE;
}

static bool listed(const bw_member *list, bw_member member) {
    while (*list != BW_M_COUNT && *list != member) {
        list++;
    }
    return *list == member;
}

bw_membership bw_kind_member(bw_kind kind, bw_member member) {
    if (!kind_known(kind) || !member_known(member)) {
        return BW_MEMBER_NEVER;
    }
    if (listed(kinds[kind].must, member)) {
        return BW_MEMBER_MUST;
    }
    return listed(kinds[kind].may, member) ? BW_MEMBER_MAY : BW_MEMBER_NEVER;
}
