/* job_bench.c - see job_bench.h. */
#include "cmocka_all.h"

#include "job_bench.h"

void open_job(job *j, const char *text) {
    j->run = kit_load(text);
    kit_assert_plan(&j->run);
    bench_open_plan(&j->b, j->run.loaded.plan);
    bench_person(&j->b, "A. Lund");
    bench_event(&j->b, BW_EVENT_TOOL_ON);
}

void close_job(job *j) {
    bw_session *again = bench_fold(&j->b, j->b.entry_n);
    const char *differs = bench_difference(again, j->b.session);
    if (differs != NULL) {
        fail_msg("a fold of the same entries differs: %s", differs);
    }
    bench_close(&j->b);
    kit_end(&j->run);
}

void pull_all(job *j, size_t n) {
    for (size_t i = 0; i < n; i++) {
        bench_good_pull(&j->b);
    }
}
