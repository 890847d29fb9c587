/* parts.h - simulated converter and gyro as they show on the SPI bus; chip.c of the firmware and
 * its parts.h are the other end.  No simulator in it: bytes and times only. */
#ifndef ADAPTER_SIM_PARTS_H
#define ADAPTER_SIM_PARTS_H

#include "rehearsal/chance.h"
#include "sim.h"

typedef struct ad_bus {
    ad_parts parts;
    ad_faults faults;
    const ad_world *world;
    bw_chance chance;
    /* The converter. */
    bool excited, shunted;
    int32_t counts;     /* of the last conversion */
    double converted_s; /* when */
    /* A transfer under way: bytes since the select line fell. */
    int converter_byte, gyro_byte;
    uint8_t gyro_address;
    uint16_t gyro_rate;
} ad_bus;

/* A select line falls. */
void ad_bus_select_converter(ad_bus *bus);
void ad_bus_select_gyro(ad_bus *bus);

/* The byte that a part gives back while it is sent one. */
uint8_t ad_bus_converter(ad_bus *bus, uint8_t sent);
uint8_t ad_bus_gyro(ad_bus *bus, uint8_t sent, double now_s);

/* Time between conversions; and one, the mean since the one before.  False: nothing is ready. */
double ad_bus_conversion_s(const ad_bus *bus);
bool ad_bus_convert(ad_bus *bus, double now_s);

#endif
