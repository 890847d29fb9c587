/* load_test.c - finding a driver, and refusing what is none. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "cmocka_all.h"

#include "base/text.h"
#include "device/driver_load.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define DRIVERS BW_BINARY_DIR "/tests/drivers"

static void faults_are_all_told(void **state) {
    (void)state;
    static const struct {
        const char *name;
        const char *says;
    } rows[] = {
        {"abi", "the driver abi was built for interface 2 (size "},
        {"size", "the driver size was built for interface 1 (size "},
        {"name", "the driver name is not as driver.h asks: name is that of its file"},
        {"no_entry", "the driver no_entry exports no bw_driver_entry"},
        {"null", "the driver null exports no bw_driver_entry"},
        {"many",
         "the driver many is not as driver.h asks: version is a text of 1 to 32 characters; "
         "says is one line of 1 to 200 characters; source is one line of 1 to 200 "
         "characters; line has a speed"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char path[PATH_MAX];
        bw_err err = {.code = BW_OK};
        bw_driver driver;
        assert_int_equal(bw_driver_find(rows[i].name, path, &err), BW_OK);
        assert_int_equal(bw_driver_load(path, rows[i].name, &driver, &err), BW_E_DATA);
        assert_memory_equal(err.text, rows[i].says, strlen(rows[i].says));
        assert_null(strchr(err.text, '\n'));
    }
}

static void the_line_driver_is_one(void **state) {
    (void)state;
    char path[PATH_MAX];
    bw_err err = {.code = BW_OK};
    bw_driver driver;
    assert_int_equal(bw_driver_find("line", path, &err), BW_OK);
    assert_string_equal(path, BW_BINARY_DIR "/plugins/line.so");
    assert_int_equal(bw_driver_load(path, "line", &driver, &err), BW_OK);
    assert_string_equal(driver.name, "line");
    assert_int_equal(bw_driver_check(&driver, "line", NULL), BW_OK);
    driver.size = offsetof(bw_driver, can); /* built with the first header that there was */
    assert_int_equal(bw_driver_check(&driver, "line", NULL), BW_OK);
    driver.size -= (uint32_t)sizeof(void *); /* a member of that one is missing */
    assert_int_equal(bw_driver_check(&driver, "line", NULL), BW_E_DATA);
}

static void a_file_that_is_no_object_is_refused(void **state) {
    (void)state;
    char folder[] = "/tmp/bw_load_XXXXXX";
    assert_non_null(mkdtemp(folder));
    char file[PATH_MAX];
    bw_text text = bw_text_on(file, sizeof file);
    bw_text_add(&text, "%s/text.so", folder);
    FILE *out = fopen(file, "w");
    assert_non_null(out);
    assert_true(fputs("no object\n", out) >= 0);
    assert_int_equal(fclose(out), 0);
    assert_int_equal(setenv("BOLTWRIGHT_PLUGINS", folder, 1), 0);

    char path[PATH_MAX];
    bw_err err = {.code = BW_OK};
    bw_driver driver;
    assert_int_equal(bw_driver_find("text", path, &err), BW_OK);
    assert_int_equal(bw_driver_load(path, "text", &driver, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "the driver text cannot be loaded: "));

    assert_int_equal(chmod(file, 0666), 0); /* anybody's */
    assert_int_equal(bw_driver_find("text", path, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "anybody may write to it or its folder"));
    assert_int_equal(chmod(file, 0644), 0);
    assert_int_equal(chmod(folder, 0777), 0);
    assert_int_equal(bw_driver_find("text", path, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "anybody may write to it or its folder"));
    assert_int_equal(chmod(folder, 01777), 0); /* sticky */
    assert_int_equal(bw_driver_find("text", path, &err), BW_OK);

    assert_int_equal(bw_driver_find("nothing", path, &err), BW_E_DATA);
    assert_non_null(strstr(
        err.text, "there is no driver `nothing`: no nothing.so or nothing.lua in /tmp/bw_load_"));
    assert_int_equal(bw_driver_find("../text", path, &err), BW_E_DATA);
    assert_int_equal(unlink(file), 0);
    assert_int_equal(rmdir(folder), 0);
}

/* Each folder in turn; what is found first counts. */
static void folders_are_searched_in_order(void **state) {
    (void)state;
    char home[] = "/tmp/bw_home_XXXXXX";
    assert_non_null(mkdtemp(home));
    char plugins[PATH_MAX];
    char file[PATH_MAX];
    bw_text text = bw_text_on(plugins, sizeof plugins);
    bw_text_add(&text, "%s/plugins", home);
    text = bw_text_on(file, sizeof file);
    bw_text_add(&text, "%s/line.so", plugins);
    assert_int_equal(mkdir(plugins, 0755), 0);
    assert_int_equal(symlink(DRIVERS "/abi.so", file), 0);
    assert_int_equal(setenv("BOLTWRIGHT_HOME", home, 1), 0);

    char path[PATH_MAX];
    assert_int_equal(
        setenv("BOLTWRIGHT_PLUGINS", "/nowhere::" DRIVERS ":" BW_BINARY_DIR "/plugins", 1), 0);
    assert_int_equal(bw_driver_find("line", path, NULL), BW_OK);
    assert_string_equal(path, BW_BINARY_DIR "/plugins/line.so");
    assert_int_equal(unsetenv("BOLTWRIGHT_PLUGINS"), 0);
    assert_int_equal(bw_driver_find("line", path, NULL), BW_OK); /* home comes last */
    assert_string_equal(path, DRIVERS "/abi.so");
    assert_int_equal(unlink(file), 0);
    assert_int_equal(bw_driver_find("line", path, NULL), BW_E_DATA);
    assert_int_equal(rmdir(plugins), 0);
    assert_int_equal(rmdir(home), 0);
}

static int set_folders(void **state) {
    (void)state;
    return setenv("BOLTWRIGHT_PLUGINS", DRIVERS ":" BW_BINARY_DIR "/plugins", 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(faults_are_all_told, set_folders),
        cmocka_unit_test_setup(the_line_driver_is_one, set_folders),
        cmocka_unit_test_setup(a_file_that_is_no_object_is_refused, set_folders),
        cmocka_unit_test_setup(folders_are_searched_in_order, set_folders),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
