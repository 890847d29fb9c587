/* spec_test.c - what --wrench says. */
#include "cmocka_all.h"

#include "device/spec.h"

#include <string.h>

static void a_port_alone_takes_the_line_driver(void **state) {
    (void)state;
    bw_spec spec;
    assert_int_equal(bw_spec_parse("/dev/ttyUSB0", &spec, NULL), BW_OK);
    assert_string_equal(spec.port, "/dev/ttyUSB0");
    assert_string_equal(spec.driver, "line");
    assert_string_equal(spec.rest, "");
    assert_int_equal(spec.settings, 0);
    assert_int_equal(spec.line.baud, 0);
    assert_int_equal(spec.line.bits, 0);
}

static void everything_can_be_said(void **state) {
    (void)state;
    bw_spec spec;
    assert_int_equal(
        bw_spec_parse("p,driver=my_1,unit=N\xc2\xb7m,baud=115200,bits=7E2,a=b=c", &spec, NULL),
        BW_OK);
    assert_string_equal(spec.port, "p");
    assert_string_equal(spec.rest, "driver=my_1,unit=N\xc2\xb7m,baud=115200,bits=7E2,a=b=c");
    assert_string_equal(spec.driver, "my_1");
    assert_int_equal(spec.settings, 2);
    assert_string_equal(spec.setting[0].key, "unit");
    assert_string_equal(spec.setting[0].value, "N\xc2\xb7m");
    assert_string_equal(spec.setting[1].key, "a");
    assert_string_equal(spec.setting[1].value, "b=c");
    const bw_line_settings wanted = {9600, 8, 'N', 1};
    bw_line_settings line = bw_line_settings_over(wanted, &spec.line);
    char text[BW_LINE_TEXT_MAX];
    assert_string_equal(bw_line_settings_text(&line, text), "115200 baud 7E2");
}

static void the_builder_overrides_only_what_he_names(void **state) {
    (void)state;
    const bw_line_settings wanted = {9600, 8, 'N', 1};
    char text[BW_LINE_TEXT_MAX];
    bw_spec spec;
    assert_int_equal(bw_spec_parse("p,bits=7O1", &spec, NULL), BW_OK);
    bw_line_settings line = bw_line_settings_over(wanted, &spec.line);
    assert_string_equal(bw_line_settings_text(&line, text), "9600 baud 7O1");
    assert_int_equal(bw_spec_parse("p,baud=50", &spec, NULL), BW_OK);
    line = bw_line_settings_over(wanted, &spec.line);
    assert_string_equal(bw_line_settings_text(&line, text), "50 baud 8N1");
}

static void what_is_known_of_the_wrench(void **state) {
    (void)state;
    bw_spec spec;
    assert_int_equal(bw_spec_parse("p", &spec, NULL), BW_OK);
    assert_true(spec.known.range_low_Nm == 0 && spec.known.range_high_Nm == 0);
    assert_true(spec.known.uncertainty_share == 0 && spec.known.uncertainty_deg == 0);
    assert_int_equal(
        bw_spec_parse("p,range=20..200,uncertainty=1.5,unit=N.m,angle_uncertainty=0.75,windup=0.05",
                      &spec, NULL),
        BW_OK);
    assert_true(spec.known.range_low_Nm == 20 && spec.known.range_high_Nm == 200);
    assert_true(spec.known.uncertainty_share == 0.015 && spec.known.uncertainty_deg == 0.75);
    assert_true(spec.known.windup_deg_per_Nm == 0.05);
    assert_int_equal(spec.settings, 1); /* the driver does not hear of it */
    assert_int_equal(
        bw_spec_parse("p,range=0..60.5,uncertainty=50,angle_uncertainty=45", &spec, NULL), BW_OK);
    assert_true(spec.known.range_low_Nm == 0 && spec.known.range_high_Nm == 60.5);
    assert_true(spec.known.uncertainty_share == 0.5 && spec.known.uncertainty_deg == 45);
}

static void mistakes_get_one_clear_line(void **state) {
    (void)state;
    static const struct {
        const char *spec;
        const char *says;
    } rows[] = {
        {"", "a port of 1 to 255 characters is needed"},
        {",driver=line", "a port of 1 to 255 characters is needed"},
        {"p\n", "PORT[,KEY=VALUE...] of at most 511 plain characters is needed"},
        {"p\xff", "PORT[,KEY=VALUE...] of at most 511 plain characters is needed"},
        {"p,", "\"\" is no setting: KEY=VALUE is needed"},
        {"p,driver", "\"driver\" is no setting: KEY=VALUE is needed"},
        {"p,driver=", "\"driver=\" is no setting: KEY=VALUE is needed"},
        {"p,=line", "\"=line\" is no setting: KEY=VALUE is needed"},
        {"p,a=b,,c=d", "\"\" is no setting: KEY=VALUE is needed"},
        {"p,a b=c", "\"a b\" is no setting's name"},
        {"p,a=b,a=c", "a= is there twice"},
        {"p,baud=1,driver=x", "baud=1: a whole number from 50 to 4000000 is needed"},
        {"p,baud=0", "baud=0: a whole number from 50 to 4000000 is needed"},
        {"p,baud=9600x", "baud=9600x: a whole number"},
        {"p,baud=-9600", "baud=-9600: a whole number"},
        {"p,baud=4294976896", "baud=4294976896: a whole number"},
        {"p,bits=9N1", "bits=9N1: 7 or 8 bits, parity N, E or O, and 1 or 2 stop bits"},
        {"p,bits=8M1", "bits=8M1: 7 or 8 bits"},
        {"p,bits=8N0", "bits=8N0: 7 or 8 bits"},
        {"p,bits=8N11", "bits=8N11: 7 or 8 bits"},
        {"p,driver=../line", "driver=../line: a driver's name is 1 to 16 letters a-z"},
        {"p,driver=Line", "driver=Line: a driver's name is"},
        {"p,driver=a2345678901234567", "driver=a2345678901234567: a driver's name is"},
        {"p,range=20", "range=20: the torques in N.m from which to which"},
        {"p,range=20..", "range=20..: the torques"},
        {"p,range=..200", "range=..200: the torques"},
        {"p,range=200..20", "range=200..20: the torques"},
        {"p,range=20..20", "range=20..20: the torques"},
        {"p,range=-1..20", "range=-1..20: the torques"},
        {"p,range=0..0", "range=0..0: the torques"},
        {"p,range=1..100001", "range=1..100001: the torques"},
        {"p,range=20...200", "range=20...200: the torques"},
        {"p,uncertainty=0", "uncertainty=0: the expanded uncertainty (k = 2) in per cent"},
        {"p,uncertainty=-1", "uncertainty=-1: the expanded"},
        {"p,uncertainty=50.1", "uncertainty=50.1: the expanded"},
        {"p,uncertainty=1%", "uncertainty=1%: the expanded"},
        {"p,uncertainty=nan", "uncertainty=nan: the expanded"},
        {"p,angle_uncertainty=0",
         "angle_uncertainty=0: the expanded uncertainty (k = 2) of a turn"},
        {"p,angle_uncertainty=45.1", "angle_uncertainty=45.1: the expanded"},
        {"p,uncertainty=1,uncertainty=2", "uncertainty= is there twice"},
        {"p,windup=0", "windup=0: by how many degrees"},
        {"p,windup=1.1", "windup=1.1: by how many degrees"},
        {"p,resends=yes", "resends=yes: within how many seconds"},
        {"p,resends=0", "resends=0: within"},
        {"p,resends=61", "resends=61: within"},
        {"p,a2345678901234567=1", "\"a2345678901234567\" is no setting's name"},
        {"p,a=1,b=1,c=1,d=1,e=1,f=1,g=1,h=1,i=1,j=1,k=1,l=1,m=1,n=1,o=1,q=1,r=1",
         "a wrench has at most 16 settings"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_spec spec;
        bw_err err = {.code = BW_OK};
        assert_int_equal(bw_spec_parse(rows[i].spec, &spec, &err), BW_E_DATA);
        assert_memory_equal(err.text, rows[i].says, strlen(rows[i].says));
        assert_null(strchr(err.text, '\n'));
    }
    char much[BW_SPEC_MAX + 1];
    memset(much, 'a', sizeof much - 1);
    much[sizeof much - 1] = '\0';
    bw_spec spec;
    assert_int_equal(bw_spec_parse(much, &spec, NULL), BW_E_DATA); /* too long */
    much[BW_PORT_PATH_MAX] = '\0';
    assert_int_equal(bw_spec_parse(much, &spec, NULL), BW_E_DATA); /* the port is */
    much[BW_PORT_PATH_MAX - 1] = '\0';
    assert_int_equal(bw_spec_parse(much, &spec, NULL), BW_OK);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_port_alone_takes_the_line_driver),
        cmocka_unit_test(everything_can_be_said),
        cmocka_unit_test(the_builder_overrides_only_what_he_names),
        cmocka_unit_test(what_is_known_of_the_wrench),
        cmocka_unit_test(mistakes_get_one_clear_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
