/* test_page.c - docs/trade.md says what the tables say: every unit, formula, function and preset.
 *
 * Everything behind the page's marker is written from the tables.  `test_trade_page --print` prints
 * it; put it behind the marker when a table has changed. */
#include "expression.h"

#include "base/text.h"
#include "trade/formula.h"
#include "trade/grade.h"
#include "trade/measure.h"
#include "trade/pattern.h"
#include "trade/scatter.h"

#include "cmocka_all.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PAGE_MAX = 200000 };

static const char marker[] = "<!-- from the tables -->\n";

static expression e;

static void add_units(bw_text *page) {
    bw_text_add(page, "\n## Units\n\n| constructor | shown as | is a |\n|---|---|---|\n");
    for (bw_unit u = BW_UNIT_NUMBER; u < BW_UNIT_COUNT; u++) {
        const bw_unit_info *info = bw_unit_of(u);
        bw_text_add(page, "| `%s` | %s | %s |\n", info->word, info->symbol,
                    bw_dimension_name(info->dimension));
    }
}

static void add_formulas(bw_text *page) {
    bw_text_add(page, "\n## Formulas for derived values\n\n"
                      "| formula | sets of readings | source |\n|---|---|---|\n");
    for (size_t i = 0; bw_formula_at(i) != NULL; i++) {
        const bw_formula *f = bw_formula_at(i);
        bw_text_add(page, "| `%s` | %s | %s |\n", f->name, f->takes, f->source);
    }
}

static const char *kind_of(const bw_calc_arg *arg) {
    static const char *const kinds[] = {"", "list of ", "word", "true or false"};
    return kinds[arg->type];
}

static void add_arguments(bw_text *page, const bw_calc_function *f) {
    bw_text_add(page, "| argument | is a | says |\n|---|---|---|\n");
    for (const bw_calc_arg *arg = f->arg; arg->name != NULL; arg++) {
        bool number = arg->type == BW_CALC_QUANTITY || arg->type == BW_CALC_LIST;
        bw_text_add(page, "| `%s`%s | %s%s | %s |\n", arg->name,
                    arg->optional ? " (may be left out)" : "", kind_of(arg),
                    number ? bw_dimension_name(arg->dimension) : "", arg->says);
    }
}

static void add_result(bw_text *page, const bw_calc_result *r) {
    char text[96];
    const bw_calc_value *v = &r->value;
    if (v->type == BW_CALC_TEXT) {
        bw_text_add(page, "    %s = \"%s\"\n", r->name, v->text);
    } else if (v->type == BW_CALC_FLAG) {
        bw_text_add(page, "    %s = %s\n", r->name, v->flag ? "true" : "false");
    } else {
        bw_quantity q = {bw_from_base(v->number, v->unit), v->unit, -1};
        bw_text_add(page, "    %s = %s\n", r->name, bw_quantity_text(q, text, sizeof text));
    }
}

static void add_function(bw_text *page, const bw_calc_function *f) {
    bw_text_add(page, "\n### %s\n\n%s. Source: %s.\n\n", f->name, f->says, f->source);
    add_arguments(page, f);
    bw_text_add(page, "\n```lua\n%s\n```\n\ngives\n\n", f->example);
    bw_calc_result result[BW_CALC_RESULTS_MAX];
    size_t n = 0;
    if (expression_eval(&e, f->example, result, &n) != BW_OK) {
        fail_msg("%s: %s", f->example, e.err.text);
    }
    for (size_t i = 0; i < n; i++) {
        add_result(page, &result[i]);
    }
}

static void add_functions(bw_text *page) {
    bw_text_add(page, "\n## Functions\n\n| function | gives |\n|---|---|\n");
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        bw_text_add(page, "| [`%s`](#%s) | %s |\n", bw_calc_at(i)->name, bw_calc_at(i)->name,
                    bw_calc_at(i)->says);
    }
    for (size_t i = 0; bw_calc_at(i) != NULL; i++) {
        add_function(page, bw_calc_at(i));
    }
}

static void add_tables(bw_text *page) {
    bw_text_add(page,
                "\n## Classes\n\n| class | diameter mm | proof MPa | yield MPa | tensile MPa |"
                "\n|---|---|---|---|---|\n");
    for (size_t i = 0; bw_grade_at(i) != NULL; i++) {
        const bw_grade *g = bw_grade_at(i);
        bw_text_add(page, "| %s | %g to %g | %.0f | %.0f | %.0f |\n", g->name, g->over_mm, g->to_mm,
                    g->proof_MPa, g->yield_MPa, g->tensile_MPa);
    }
    bw_text_add(page, "\n## Ways to tighten\n\n| way | preload strays by +- %% | source |\n"
                      "|---|---|---|\n");
    for (size_t i = 0; bw_scatter_at(i) != NULL; i++) {
        const bw_scatter *s = bw_scatter_at(i);
        bw_text_add(page, "| `%s` | %.0f to %.0f | %s |\n", s->name, 100 * s->half_least,
                    100 * s->half_most, s->source);
    }
    bw_text_add(page, "\n## Lubricant presets\n\n| preset | from | to | is | source |\n"
                      "|---|---|---|---|---|\n");
    for (size_t i = 0; bw_preset_at(i) != NULL; i++) {
        const bw_preset *p = bw_preset_at(i);
        bw_text_add(page, "| `%s` | %g | %g | %s | %s |\n", p->name, p->least, p->most, p->says,
                    p->source);
    }
    bw_text_add(page,
                "\n## Materials\n\n| material | expansion, 1e-6/K | source |\n|---|---|---|\n");
    for (size_t i = 0; bw_material_at(i) != NULL; i++) {
        const bw_material *m = bw_material_at(i);
        bw_text_add(page, "| `%s` | %g to %g | %s |\n", m->name, m->expansion_least_1e6,
                    m->expansion_most_1e6, m->source);
    }
    bw_text_add(page, "\n## Flange patterns\n\n| pattern | rounds | source |\n|---|---|---|\n");
    for (size_t i = 0; bw_flange_pattern_at(i) != NULL; i++) {
        const bw_flange_pattern *p = bw_flange_pattern_at(i);
        bw_text_add(page, "| `%s` | %zu | %s |\n", p->name, p->round_n, p->source);
    }
}

static void write_page(bw_text *page) {
    add_units(page);
    add_formulas(page);
    add_functions(page);
    add_tables(page);
}

static void test_the_page_agrees(void **state) {
    (void)state;
    static char wanted[PAGE_MAX];
    static char file[PAGE_MAX];
    bw_text page = bw_text_on(wanted, sizeof wanted);
    write_page(&page);
    assert_false(page.cut);
    FILE *in = fopen(BW_SOURCE_DIR "/docs/trade.md", "rb");
    assert_non_null(in);
    size_t n = fread(file, 1, sizeof file - 1, in);
    assert_int_equal(fclose(in), 0);
    file[n] = '\0';
    const char *tables = strstr(file, marker);
    assert_non_null(tables);
    const char *got = tables + sizeof marker - 1;
    size_t same = 0;
    while (wanted[same] != '\0' && wanted[same] == got[same]) {
        same++;
    }
    if (wanted[same] != got[same]) {
        fail_msg("docs/trade.md and the tables part at '%.60s', the tables say '%.60s': run "
                 "test_trade_page --print",
                 got + same, wanted + same);
    }
}

int main(int argc, char **argv) {
    if (argc == 2 && strcmp(argv[1], "--print") == 0) {
        static char wanted[PAGE_MAX];
        bw_text page = bw_text_on(wanted, sizeof wanted);
        write_page(&page);
        return fputs(wanted, stdout) >= 0 ? EXIT_SUCCESS : EXIT_FAILURE;
    }
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_the_page_agrees)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
