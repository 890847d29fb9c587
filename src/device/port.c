/* port.c - see port.h.
 *
 * The port is first opened and locked by ourselves: only then may its settings be touched, for a
 * port in use belongs to somebody.  Real ports are then opened again and set by libserialport,
 * which knows modem lines, odd speeds and USB names.  It refuses pseudo-terminals (not in
 * /sys/class/tty) and ports without modem lines (ENOTTY); those are set here with termios.
 *
 * A byte with a parity or framing error reads as NUL, so that a driver refuses what it was part
 * of; left to itself the kernel may drop such a byte, and 112.3 becomes 12.3. */
#define _DEFAULT_SOURCE /* flock, TIOCEXCL, CRTSCTS, speeds beyond 38400 */
#include "device/port.h"

#include "base/text.h"
#include "device/spec.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <limits.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>
#include <unistd.h>

void bw_port_init(bw_port *port, const char *path) {
    memset(port, 0, sizeof *port);
    (void)bw_text_copy(port->path, sizeof port->path, path);
    port->fd = -1;
    port->lock_fd = -1;
}

void bw_port_close(bw_port *port) {
    if (port->serial != NULL) {
        (void)sp_close(port->serial);
        sp_free_port(port->serial);
        port->serial = NULL;
    }
    if (port->lock_fd >= 0) {
        (void)close(port->lock_fd);
    }
    port->fd = -1;
    port->lock_fd = -1;
}

/* ---- finding it ---- */

static bw_status fail_open(const char *path, int why, bw_err *err) {
    switch (why) {
    case ENOENT:
    case ENOTDIR:
    case ENXIO:
    case ENODEV:
        return bw_fail(err, BW_E_ABSENT, "there is no port %s: is the cable plugged in?", path);
    case EBUSY:
        return bw_fail(err, BW_E_BUSY, "%s is in use by another program: end that first", path);
    case EACCES:
    case EPERM:
        return bw_fail(err, BW_E_IO,
                       "%s may not be opened by this user, who must be in the port's group "
                       "(often `dialout`)",
                       path);
    default:
        return bw_fail(err, BW_E_IO, "%s cannot be opened: %s", path, strerror(why));
    }
}

static void read_usb_id(const struct sp_port *serial, bw_usb_id *out) {
    memset(out, 0, sizeof *out);
    if (sp_get_port_transport(serial) != SP_TRANSPORT_USB ||
        sp_get_port_usb_vid_pid(serial, &out->vendor, &out->product) != SP_OK) {
        return;
    }
    (void)bw_text_copy(out->serial, sizeof out->serial, sp_get_port_usb_serial(serial));
}

static bool same_usb(const bw_usb_id *a, const bw_usb_id *b) {
    return a->vendor == b->vendor && a->product == b->product && strcmp(a->serial, b->serial) == 0;
}

/* What libserialport knows of a device file; NULL where it knows nothing.  Freed by the caller. */
static struct sp_port *look_up(const char *real, bw_usb_id *usb) {
    struct sp_port *serial = NULL;
    memset(usb, 0, sizeof *usb);
    if (sp_get_port_by_name(real, &serial) != SP_OK) {
        return NULL;
    }
    read_usb_id(serial, usb);
    return serial;
}

/* The device file of the USB device with this identity.  real has PATH_MAX bytes. */
static bool find_usb(const bw_usb_id *usb, char *real) {
    struct sp_port **list = NULL;
    if (sp_list_ports(&list) != SP_OK) {
        return false;
    }
    bool found = false;
    for (size_t i = 0; list[i] != NULL && !found; i++) {
        bw_usb_id here;
        read_usb_id(list[i], &here);
        found = same_usb(&here, usb);
        if (found) {
            (void)bw_text_copy(real, PATH_MAX, sp_get_port_name(list[i]));
        }
    }
    sp_free_port_list(list);
    return found;
}

/* The device file of the one USB device with this serial number. */
static bw_status find_serial(const char *serial, char *real, bw_err *err) {
    struct sp_port **list = NULL;
    size_t found = 0;
    if (sp_list_ports(&list) != SP_OK) {
        return bw_fail(err, BW_E_IO, "the serial ports of this machine cannot be listed");
    }
    for (size_t i = 0; list[i] != NULL; i++) {
        bw_usb_id here;
        read_usb_id(list[i], &here);
        if (serial[0] != '\0' && strcmp(here.serial, serial) == 0) {
            found++;
            (void)bw_text_copy(real, PATH_MAX, sp_get_port_name(list[i]));
        }
    }
    sp_free_port_list(list);
    if (found == 1) {
        return BW_OK;
    }
    return bw_fail(err, BW_E_ABSENT,
                   found == 0 ? "no device with the USB serial number %s is plugged in"
                              : "more than one device says USB serial number %s: name the port",
                   serial);
}

/* The device file behind a name.  real has PATH_MAX bytes. */
static bw_status resolve(const char *path, char *real, bw_err *err) {
    static const char by_serial[] = "usb:";
    char in_dev[sizeof "/dev/" + BW_PORT_PATH_MAX];
    const char *name = path;
    if (strncmp(path, by_serial, sizeof by_serial - 1) == 0) {
        return find_serial(path + sizeof by_serial - 1, real, err);
    }
    if (strchr(path, '/') == NULL) {
        bw_text text = bw_text_on(in_dev, sizeof in_dev);
        bw_text_add(&text, "/dev/%s", path);
        name = in_dev;
    }
    return realpath(name, real) != NULL ? BW_OK : fail_open(path, errno, err);
}

/* Where the device is that was opened before.  A USB device with a serial number is known by its
 * identity alone, the port's old name first, because some makers give every device the same
 * number.  Of any other all that can be said is that the port is the same kind of thing. */
static bw_status find_again(const bw_port *port, char *real, bw_err *err) {
    bw_status rc = resolve(port->path, real, err);
    if (port->usb.vendor == 0) {
        return rc;
    }
    bw_usb_id here = {0};
    if (rc == BW_OK) {
        sp_free_port(look_up(real, &here));
    }
    if (same_usb(&here, &port->usb)) {
        return BW_OK;
    }
    if (port->usb.serial[0] == '\0') {
        return rc != BW_OK
                   ? rc
                   : bw_fail(err, BW_E_ABSENT,
                             "another device is on %s now: plug the wrench in there", port->path);
    }
    if (find_usb(&port->usb, real)) {
        return BW_OK;
    }
    return bw_fail(err, BW_E_ABSENT,
                   "the wrench that was on %s (USB serial number %s) is not plugged in", port->path,
                   port->usb.serial);
}

/* ---- having it alone ---- */

/* Who holds the flock on this file: fills in a process number, or leaves holder empty.  A line of
 * /proc/locks: "1: FLOCK  ADVISORY  WRITE 4242 00:18:5 0 EOF". */
static void find_holder(const struct stat *file, char *holder, size_t size) {
    holder[0] = '\0';
    char where[64];
    bw_text text = bw_text_on(where, sizeof where);
    bw_text_add(&text, " %02x:%02x:%llu ", major(file->st_dev), minor(file->st_dev),
                (unsigned long long)file->st_ino);
    FILE *locks = fopen("/proc/locks", "re");
    char line[256];
    while (locks != NULL && fgets(line, sizeof line, locks) != NULL) {
        char *at = strstr(line, where);
        if (at == NULL || strstr(line, "FLOCK") == NULL) {
            continue;
        }
        *at = '\0';
        const char *number = strrchr(line, ' ');
        (void)bw_text_copy(holder, size, number != NULL ? number + 1 : "");
    }
    if (locks != NULL) {
        (void)fclose(locks);
    }
}

static bw_status lock(int fd, const char *path, const struct stat *file, bw_err *err) {
    if (flock(fd, LOCK_EX | LOCK_NB) == 0) {
        return BW_OK;
    }
    if (errno != EWOULDBLOCK) {
        return fail_open(path, errno, err);
    }
    char holder[32];
    find_holder(file, holder, sizeof holder);
    if (holder[0] == '\0') {
        return fail_open(path, EBUSY, err);
    }
    return bw_fail(err, BW_E_BUSY, "%s is in use by process %s: end that first", path, holder);
}

/* True where fd is the terminal at which the builder sits. */
static bool is_own_terminal(const struct stat *file) {
    for (int fd = 0; fd <= 2; fd++) {
        struct stat own;
        if (fstat(fd, &own) == 0 && S_ISCHR(own.st_mode) && own.st_rdev == file->st_rdev) {
            return true;
        }
    }
    return false;
}

static bw_status claim(const char *path, const char *real, int *out, bw_err *err) {
    struct stat file;
    if (stat(real, &file) != 0) {
        return fail_open(path, errno, err);
    }
    if (!S_ISCHR(file.st_mode)) { /* before it is opened: a FIFO's other end would notice */
        return bw_fail(err, BW_E_DATA, "%s is no serial port", path);
    }
    int fd = open(real, O_RDWR | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (fd < 0) {
        return fail_open(path, errno, err);
    }
    bw_status rc = BW_OK;
    if (fstat(fd, &file) != 0 || isatty(fd) == 0) {
        rc = bw_fail(err, BW_E_DATA, "%s is no serial port", path);
    } else if (is_own_terminal(&file)) {
        rc = bw_fail(err, BW_E_DATA, "%s is this terminal, not a wrench's port", path);
    } else {
        rc = lock(fd, path, &file, err);
    }
    if (rc != BW_OK) {
        (void)close(fd);
        return rc;
    }
    *out = fd;
    return BW_OK;
}

/* ---- setting it ---- */

/* A configuration with no field left to what it was before. */
static bool fill_config(struct sp_port_config *config, const bw_line_settings *line) {
    enum sp_parity parity = line->parity == 'E'   ? SP_PARITY_EVEN
                            : line->parity == 'O' ? SP_PARITY_ODD
                                                  : SP_PARITY_NONE;
    return sp_set_config_baudrate(config, (int)line->baud) == SP_OK &&
           sp_set_config_bits(config, line->bits) == SP_OK &&
           sp_set_config_parity(config, parity) == SP_OK &&
           sp_set_config_stopbits(config, line->stops) == SP_OK &&
           /* Some adapters draw their power from these two. */
           sp_set_config_rts(config, SP_RTS_ON) == SP_OK &&
           sp_set_config_dtr(config, SP_DTR_ON) == SP_OK &&
           sp_set_config_cts(config, SP_CTS_IGNORE) == SP_OK &&
           sp_set_config_dsr(config, SP_DSR_IGNORE) == SP_OK &&
           sp_set_config_xon_xoff(config, SP_XONXOFF_DISABLED) == SP_OK;
}

static bool set_serial(struct sp_port *serial, const bw_line_settings *line) {
    struct sp_port_config *config = NULL;
    if (sp_new_config(&config) != SP_OK) {
        return false;
    }
    bool set = fill_config(config, line) && sp_set_config(serial, config) == SP_OK;
    sp_free_config(config);
    return set;
}

static bool find_speed(uint32_t baud, speed_t *out) {
    static const struct {
        uint32_t baud;
        speed_t speed;
    } rows[] = {{50, B50},           {75, B75},           {110, B110},         {134, B134},
                {150, B150},         {200, B200},         {300, B300},         {600, B600},
                {1200, B1200},       {1800, B1800},       {2400, B2400},       {4800, B4800},
                {9600, B9600},       {19200, B19200},     {38400, B38400},     {57600, B57600},
                {115200, B115200},   {230400, B230400},   {460800, B460800},   {500000, B500000},
                {576000, B576000},   {921600, B921600},   {1000000, B1000000}, {1152000, B1152000},
                {1500000, B1500000}, {2000000, B2000000}, {2500000, B2500000}, {3000000, B3000000},
                {3500000, B3500000}, {4000000, B4000000}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].baud == baud) {
            *out = rows[i].speed;
            return true;
        }
    }
    return false;
}

static bool set_termios(int fd, const bw_line_settings *line) {
    struct termios t;
    speed_t speed = B0;
    if (!find_speed(line->baud, &speed) || tcgetattr(fd, &t) != 0) {
        return false;
    }
    t.c_cflag &= ~(tcflag_t)(CSIZE | PARENB | PARODD | CSTOPB | CRTSCTS);
    t.c_cflag |= CLOCAL | CREAD;
    t.c_cflag |= line->bits == 7 ? CS7 : CS8;
    t.c_cflag |= line->parity == 'N' ? 0 : line->parity == 'E' ? PARENB : PARENB | PARODD;
    t.c_cflag |= line->stops == 2 ? CSTOPB : 0;
    return cfsetispeed(&t, speed) == 0 && cfsetospeed(&t, speed) == 0 &&
           tcsetattr(fd, TCSANOW, &t) == 0;
}

/* Bytes as they come, errors as NUL.  VMIN 1 tells silence (EAGAIN) from a hang-up (0). */
static bool set_raw(int fd) {
    struct termios t;
    if (tcgetattr(fd, &t) != 0) {
        return false;
    }
    t.c_iflag = INPCK;
    t.c_oflag &= ~(tcflag_t)OPOST;
    t.c_lflag = 0;
    t.c_cc[VMIN] = 1;
    t.c_cc[VTIME] = 0;
    return tcsetattr(fd, TCSANOW, &t) == 0;
}

/* ---- opening it ---- */

/* Hands the port to libserialport.  BW_E_STATE where it cannot open this kind. */
static bw_status open_serial(bw_port *port, const bw_line_settings *line, bw_err *err) {
    if (sp_open(port->serial, SP_MODE_READ_WRITE) != SP_OK) {
        int why = sp_last_error_code();
        return why == ENOTTY || why == EINVAL ? BW_E_STATE : fail_open(port->path, why, err);
    }
    if (sp_get_port_handle(port->serial, &port->fd) != SP_OK || !set_serial(port->serial, line)) {
        char text[BW_LINE_TEXT_MAX];
        return bw_fail(err, BW_E_DATA, "%s cannot be set to %s", port->path,
                       bw_line_settings_text(line, text));
    }
    return BW_OK;
}

static bw_status open_termios(bw_port *port, const bw_line_settings *line, bw_err *err) {
    port->fd = port->lock_fd;
    if (!set_termios(port->fd, line)) {
        char text[BW_LINE_TEXT_MAX];
        return bw_fail(err, BW_E_DATA, "%s cannot be set to %s", port->path,
                       bw_line_settings_text(line, text));
    }
    return BW_OK;
}

static bw_status open_and_set(bw_port *port, const bw_line_settings *line, bw_err *err) {
    bw_status rc = port->serial != NULL ? open_serial(port, line, err) : BW_E_STATE;
    if (rc == BW_E_STATE) {
        sp_free_port(port->serial);
        port->serial = NULL;
        rc = open_termios(port, line, err);
    }
    if (rc != BW_OK) {
        return rc;
    }
    if (!set_raw(port->fd) || fcntl(port->fd, F_SETFD, FD_CLOEXEC) != 0) {
        return bw_fail(err, BW_E_IO, "%s cannot be set: %s", port->path, strerror(errno));
    }
    (void)ioctl(port->fd, TIOCEXCL); /* for programs that know nothing of the lock */
    return BW_OK;
}

/* Drops what came at another speed or for somebody else, and waits for a first byte.  Who sends a
 * stream does so at once, and its first line may have lost its beginning; who is silent so long
 * has no line on the way. */
static bool is_quiet(int fd) {
    enum { LISTEN_MS = 250 };
    (void)tcflush(fd, TCIFLUSH);
    struct pollfd ready = {.fd = fd, .events = POLLIN};
    return poll(&ready, 1, LISTEN_MS) == 0;
}

bw_status bw_port_open(bw_port *port, const bw_line_settings *line, bw_err *err) {
    char real[PATH_MAX];
    bw_status rc = find_again(port, real, err);
    if (rc == BW_OK) {
        rc = claim(port->path, real, &port->lock_fd, err);
    }
    if (rc != BW_OK) {
        return rc;
    }
    bw_usb_id usb;
    port->serial = look_up(real, &usb);
    bool pseudo = port->serial == NULL && strncmp(real, "/dev/pts/", strlen("/dev/pts/")) == 0;
    rc = open_and_set(port, line, err);
    if (rc != BW_OK) {
        bw_port_close(port);
        return rc;
    }
    port->usb = usb;
    port->quiet = pseudo || is_quiet(port->fd);
    return BW_OK;
}

/* ---- using it ---- */

static bw_status fail_use(const bw_port *port, int why, bw_err *err) {
    if (why == 0 || why == EIO || why == ENXIO || why == ENODEV || why == EBADF) {
        return bw_fail(err, BW_E_ABSENT,
                       "the wrench on %s is gone: it was unplugged or switched off", port->path);
    }
    return bw_fail(err, BW_E_IO, "the wrench on %s cannot be reached: %s", port->path,
                   strerror(why));
}

bw_status bw_port_read(bw_port *port, uint8_t *out, size_t size, size_t *n, bw_err *err) {
    ssize_t got = -1;
    do {
        got = read(port->fd, out, size);
    } while (got < 0 && errno == EINTR);
    if (got > 0) {
        *n = (size_t)got;
        return BW_OK;
    }
    if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) {
        *n = 0;
        return BW_OK;
    }
    return fail_use(port, got == 0 ? 0 : errno, err);
}

bw_status bw_port_write(bw_port *port, const uint8_t *bytes, size_t n, bw_err *err) {
    for (size_t done = 0; done < n;) {
        ssize_t part = write(port->fd, bytes + done, n - done);
        if (part > 0) {
            done += (size_t)part;
        } else if (part < 0 && errno != EINTR) {
            return fail_use(port, errno, err);
        }
    }
    return BW_OK;
}
