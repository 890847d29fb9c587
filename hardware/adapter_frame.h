/* adapter_frame.h - the frames of the open adapter: the one thing that firmware and host share.
 *
 * protocol.md says what each of them means, byte by byte; tests/hardware holds the two to each
 * other.  Offsets count from the frame's first byte before COBS, its version.  Numbers are little
 * endian, signed ones two's complement; the type of each stands behind it.  Tightening is positive.
 *
 * Plain constants only: the microcontroller's compiler and a driver without any library read it. */
#ifndef ADAPTER_FRAME_H
#define ADAPTER_FRAME_H

#define ADAPTER_BAUD             115200ul
#define ADAPTER_CRC_POLYNOMIAL   0xEDB88320ul /* CRC-32/ISO-HDLC, reflected */
#define ADAPTER_CRC_INITIAL      0xFFFFFFFFul
#define ADAPTER_CRC_FINAL_XOR    0xFFFFFFFFul
#define ADAPTER_NM_PER_GAIN      1e-12 /* gains are in pN.m per count */
#define ADAPTER_DEG_PER_ANGLE    1e-3  /* angles are in thousandths of a degree */
#define ADAPTER_SECONDS_PER_TIME 1e-6  /* times are in microseconds, and wrap at 2^32 */

enum {
    ADAPTER_VERSION = 1,         /* the only one so far */
    ADAPTER_HEAD_BYTES = 4,      /* before the body */
    ADAPTER_CRC_BYTES = 4,       /* u32 behind the body, over head and body */
    ADAPTER_PLAIN_MAX = 64,      /* head, body and CRC at most */
    ADAPTER_CODED_MAX = 66,      /* after COBS, with the zero byte that ends the frame */
    ADAPTER_QUIET_MAX_ms = 1500, /* an adapter that works is never silent for longer */
    ADAPTER_RATE_MAX_Hz = 80
};

/* Head of every frame. */
enum {
    ADAPTER_AT_VERSION = 0,  /* u8 */
    ADAPTER_AT_TYPE = 1,     /* u8 */
    ADAPTER_AT_SEQUENCE = 2, /* u16 */
    ADAPTER_AT_BODY = 4
};

enum {
    /* From the adapter. */
    ADAPTER_SAMPLE = 0x10,
    ADAPTER_IDENTITY = 0x11,
    ADAPTER_CALIBRATION = 0x12,
    ADAPTER_RESULT = 0x13,
    ADAPTER_STATUS = 0x14,
    /* From the host. */
    ADAPTER_HELLO = 0x20,
    ADAPTER_ZERO = 0x21,
    ADAPTER_RATE = 0x22,
    ADAPTER_SHUNT = 0x23,
    ADAPTER_LAMP = 0x24,
    ADAPTER_CALIBRATE = 0x25
};

/* SAMPLE: torque and angle at one moment. */
enum {
    ADAPTER_SAMPLE_TIME_US = 4,       /* u32 */
    ADAPTER_SAMPLE_TORQUE_COUNTS = 8, /* i32 */
    ADAPTER_SAMPLE_ANGLE_MDEG = 12,   /* i32 */
    ADAPTER_SAMPLE_FLAGS = 16,        /* u16 */
    ADAPTER_SAMPLE_BYTES = 22
};

/* IDENTITY: who is there, and since when. */
enum {
    ADAPTER_IDENTITY_VERSION_LEAST = 4,  /* u8 */
    ADAPTER_IDENTITY_VERSION_MOST = 5,   /* u8 */
    ADAPTER_IDENTITY_FIRMWARE_MAJOR = 6, /* u8 */
    ADAPTER_IDENTITY_FIRMWARE_MINOR = 7, /* u8 */
    ADAPTER_IDENTITY_SERIAL = 8,         /* u32 */
    ADAPTER_IDENTITY_BOOTS = 12,         /* u16 */
    ADAPTER_IDENTITY_RESET = 14,         /* u8 */
    ADAPTER_IDENTITY_RATE_HZ = 15,       /* u8 */
    ADAPTER_IDENTITY_DELAY_US = 16,      /* u16 */
    ADAPTER_IDENTITY_BYTES = 22
};

/* CALIBRATION: what the counts mean. */
enum {
    ADAPTER_CALIBRATION_STATE = 4,            /* u8 */
    ADAPTER_CALIBRATION_SERIAL = 5,           /* u32 */
    ADAPTER_CALIBRATION_GAIN_TIGHTEN = 9,     /* u32 */
    ADAPTER_CALIBRATION_GAIN_LOOSEN = 13,     /* u32 */
    ADAPTER_CALIBRATION_GYRO_UDPS = 17,       /* u32 */
    ADAPTER_CALIBRATION_SHUNT_COUNTS = 21,    /* i32 */
    ADAPTER_CALIBRATION_OVERLOAD_COUNTS = 25, /* i32 */
    ADAPTER_CALIBRATION_RATED_CNM = 29,       /* u16 */
    ADAPTER_CALIBRATION_DATE = 31,            /* u32 */
    ADAPTER_CALIBRATION_CERTIFICATE = 35,     /* text12 */
    ADAPTER_CALIBRATION_BYTES = 51
};

/* RESULT: what became of a command. */
enum {
    ADAPTER_RESULT_TYPE = 4,     /* u8 */
    ADAPTER_RESULT_SEQUENCE = 5, /* u16 */
    ADAPTER_RESULT_CODE = 7,     /* u8 */
    ADAPTER_RESULT_VALUE = 8,    /* i32 */
    ADAPTER_RESULT_BYTES = 16
};

/* STATUS: once a second, also asleep. */
enum {
    ADAPTER_STATUS_TIME_US = 4,     /* u32 */
    ADAPTER_STATUS_ZERO_COUNTS = 8, /* i32 */
    ADAPTER_STATUS_BIAS_UDPS = 12,  /* i32 */
    ADAPTER_STATUS_SUPPLY_MV = 16,  /* u16 */
    ADAPTER_STATUS_FLAGS = 18,      /* u16 */
    ADAPTER_STATUS_BAD_FRAMES = 20, /* u16 */
    ADAPTER_STATUS_MISSED = 22,     /* u16 */
    ADAPTER_STATUS_STATE = 24,      /* u8 */
    ADAPTER_STATUS_BYTES = 29
};

/* HELLO: the versions that the host speaks. */
enum {
    ADAPTER_HELLO_VERSION_LEAST = 4, /* u8 */
    ADAPTER_HELLO_VERSION_MOST = 5,  /* u8 */
    ADAPTER_HELLO_BYTES = 10
};

/* ZERO: what is on now is no torque. */
enum { ADAPTER_ZERO_BYTES = 8 };

/* RATE: samples in a second. */
enum {
    ADAPTER_RATE_HZ = 4, /* u8 */
    ADAPTER_RATE_BYTES = 9
};

/* SHUNT: unbalance the bridge by a known resistor, and say by how much. */
enum { ADAPTER_SHUNT_BYTES = 8 };

/* LAMP: where the lamp changes. */
enum {
    ADAPTER_LAMP_FROM_COUNTS = 4, /* i32 */
    ADAPTER_LAMP_TO_COUNTS = 8,   /* i32 */
    ADAPTER_LAMP_BYTES = 16
};

/* CALIBRATE: keep this calibration. */
enum {
    ADAPTER_CALIBRATE_SERIAL = 4,           /* u32 */
    ADAPTER_CALIBRATE_GAIN_TIGHTEN = 8,     /* u32 */
    ADAPTER_CALIBRATE_GAIN_LOOSEN = 12,     /* u32 */
    ADAPTER_CALIBRATE_GYRO_UDPS = 16,       /* u32 */
    ADAPTER_CALIBRATE_SHUNT_COUNTS = 20,    /* i32 */
    ADAPTER_CALIBRATE_OVERLOAD_COUNTS = 24, /* i32 */
    ADAPTER_CALIBRATE_RATED_CNM = 28,       /* u16 */
    ADAPTER_CALIBRATE_DATE = 30,            /* u32 */
    ADAPTER_CALIBRATE_CERTIFICATE = 34,     /* text12 */
    ADAPTER_CALIBRATE_BYTES = 50
};

/* Flags of SAMPLE and STATUS. */
enum {
    ADAPTER_FLAG_LOADED = 0x0001,
    ADAPTER_FLAG_REST = 0x0002,
    ADAPTER_FLAG_OVERLOAD = 0x0004,
    ADAPTER_FLAG_NO_CALIBRATION = 0x0008,
    ADAPTER_FLAG_ONE_COPY = 0x0010,
    ADAPTER_FLAG_SATURATED = 0x0020,
    ADAPTER_FLAG_STUCK = 0x0040,
    ADAPTER_FLAG_OPEN = 0x0080,
    ADAPTER_FLAG_ZERO_UNKNOWN = 0x0100,
    ADAPTER_FLAG_ZERO_MOVED = 0x0200,
    ADAPTER_FLAG_SHUNT = 0x0400,
    ADAPTER_FLAG_SETTLING = 0x0800,
    ADAPTER_FLAG_GYRO_SATURATED = 0x1000,
    ADAPTER_FLAG_GYRO_FAULT = 0x2000,
    ADAPTER_FLAG_BIAS_UNKNOWN = 0x4000,
    ADAPTER_FLAG_SUPPLY = 0x8000
};

/* With any of these the torque, or the angle, of a sample is not to be used. */
#define ADAPTER_NO_TORQUE 0x8DECu
#define ADAPTER_NO_ANGLE  0xFDC8u

/* IDENTITY_RESET */
enum {
    ADAPTER_RESET_POWER = 0,
    ADAPTER_RESET_PIN = 1,
    ADAPTER_RESET_BROWN_OUT = 2,
    ADAPTER_RESET_WATCHDOG = 3
};

/* CALIBRATION_STATE */
enum {
    ADAPTER_CALIBRATION_NONE = 0,
    ADAPTER_CALIBRATION_BOTH = 1,
    ADAPTER_CALIBRATION_FIRST = 2, /* the second is damaged or older */
    ADAPTER_CALIBRATION_SECOND = 3 /* the first is damaged */
};

/* RESULT_CODE */
enum {
    ADAPTER_DONE = 0,
    ADAPTER_REFUSED_NOT_AT_REST = 1,
    ADAPTER_REFUSED_VALUE = 2,
    ADAPTER_REFUSED_LOCKED = 3,
    ADAPTER_REFUSED_VERSION = 4,
    ADAPTER_REFUSED_TYPE = 5,
    ADAPTER_REFUSED_FAULT = 6
};

/* STATUS_STATE */
enum { ADAPTER_AWAKE = 0, ADAPTER_ASLEEP = 1 };

#endif
