/* driver_load.c - a driver's shared object in the worker.  See driver_load.h. */
#include "device/driver_load.h"

#include "base/text.h"
#include "device/spec.h"

#include <dlfcn.h>
#include <string.h>

enum { STATE_SIZE_MAX = 1 << 20, FRAME_SIZE_MAX = 65536, VERSION_MAX = 32, SAYS_MAX = 200 };

/* bw_driver as the first release had it; later members stand behind. */
enum { FIRST_SIZE = offsetof(bw_driver, tick) + sizeof(((bw_driver *)0)->tick) };

static bool good_text(const char *text, size_t max) {
    size_t len = text != NULL ? strnlen(text, max + 1) : 0;
    return len >= 1 && len <= max && bw_text_printable(text, len, false);
}

/* What a driver must be, a line each; all that are missed are told. */
typedef struct demand {
    bool (*met)(const bw_driver *driver);
    const char *text;
} demand;

static bool has_version(const bw_driver *driver) {
    return good_text(driver->version, VERSION_MAX);
}

static bool has_says(const bw_driver *driver) {
    return good_text(driver->says, SAYS_MAX);
}

static bool has_source(const bw_driver *driver) {
    return good_text(driver->source, SAYS_MAX);
}

static bool has_line(const bw_driver *driver) {
    return bw_line_settings_good(&driver->line);
}

static bool has_state(const bw_driver *driver) {
    return driver->state_size <= STATE_SIZE_MAX;
}

static bool has_frame(const bw_driver *driver) {
    return driver->frame_max >= 1 && driver->frame_max <= FRAME_SIZE_MAX;
}

static bool has_scan(const bw_driver *driver) {
    return driver->scan != NULL;
}

static bool has_decode(const bw_driver *driver) {
    return driver->decode != NULL;
}

static const demand demands[] = {
    {has_version, "version is a text of 1 to 32 characters"},
    {has_says, "says is one line of 1 to 200 characters"},
    {has_source, "source is one line of 1 to 200 characters"},
    {has_line,
     "line has a speed from 50 to 4000000 baud, 7 or 8 bits, parity N, E or O, 1 or 2 stop bits"},
    {has_state, "state_size is at most 1048576"},
    {has_frame, "frame_max is 1 to 65536"},
    {has_scan, "scan is there"},
    {has_decode, "decode is there"},
};

bw_status bw_driver_check(const bw_driver *driver, const char *name, bw_err *err) {
    if (driver->abi != BW_DRIVER_ABI || driver->size < FIRST_SIZE ||
        driver->size > sizeof(bw_driver)) {
        return bw_fail(err, BW_E_DATA,
                       "the driver %s was built for interface %u (size %u), this program has %u "
                       "(size %zu): build it again with this program's driver.h",
                       name, (unsigned)driver->abi, (unsigned)driver->size, BW_DRIVER_ABI,
                       sizeof(bw_driver));
    }
    char faults[BW_ERR_TEXT_MAX];
    bw_text text = bw_text_on(faults, sizeof faults);
    if (driver->name == NULL || strncmp(driver->name, name, BW_DRIVER_NAME_MAX + 1) != 0) {
        bw_text_add(&text, "name is that of its file");
    }
    for (size_t i = 0; i < sizeof demands / sizeof demands[0]; i++) {
        if (!demands[i].met(driver)) {
            bw_text_add(&text, "%s%s", text.len > 0 ? "; " : "", demands[i].text);
        }
    }
    if (text.len > 0) {
        return bw_fail(err, BW_E_DATA, "the driver %s is not as driver.h asks: %s", name, faults);
    }
    return BW_OK;
}

/* What the object exports, checked and copied. */
static bw_status take_entry(void *object, const char *name, bw_driver *out, bw_err *err) {
    bw_driver_entry_fn *entry = NULL;
    void *symbol = dlsym(object, "bw_driver_entry");
    memcpy(&entry, &symbol, sizeof entry); /* POSIX's way from an object to a function */
    const bw_driver *driver = entry != NULL ? entry() : NULL;
    if (driver == NULL) {
        return bw_fail(err, BW_E_DATA, "the driver %s exports no bw_driver_entry", name);
    }
    bw_status rc = bw_driver_check(driver, name, err);
    if (rc == BW_OK) {
        memset(out, 0, sizeof *out);
        memcpy(out, driver, driver->size);
    }
    return rc;
}

bw_status bw_driver_load(const char *path, const char *name, bw_driver *out, bw_err *err) {
    void *object = dlopen(path, RTLD_NOW | RTLD_LOCAL);
    if (object == NULL) {
        const char *why = dlerror();
        return bw_fail(err, BW_E_DATA, "the driver %s cannot be loaded: %s", name,
                       why != NULL ? why : "no reason given");
    }
    bw_status rc = take_entry(object, name, out, err);
    if (rc != BW_OK) {
        (void)dlclose(object);
    }
    return rc;
}
