/* chance.c - see chance.h. */
#include "rehearsal/chance.h"

#include <stddef.h>

static uint64_t mix(uint64_t z) {
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

uint64_t bw_chance_next(bw_chance *chance) {
    chance->state += UINT64_C(0x9e3779b97f4a7c15);
    return mix(chance->state);
}

uint64_t bw_chance_key_number(uint64_t key, uint64_t number) {
    bw_chance chance = {mix(key) ^ number};
    return bw_chance_next(&chance);
}

uint64_t bw_chance_key_text(uint64_t key, const char *text) {
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (const char *c = text; c != NULL && *c != '\0'; c++) {
        hash = (hash ^ (unsigned char)*c) * UINT64_C(0x100000001b3);
    }
    return bw_chance_key_number(key, hash);
}

double bw_chance_between(bw_chance *chance, double least, double most) {
    double share = (double)(bw_chance_next(chance) >> 11) * 0x1p-53;
    return least + share * (most - least);
}

double bw_chance_normal(bw_chance *chance) {
    double sum = 0;
    for (int i = 0; i < 12; i++) {
        sum += bw_chance_between(chance, 0, 1);
    }
    return sum - 6;
}
