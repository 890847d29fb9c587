/* world.h - what is done to the simulated adapter: torque and angle over time. */
#ifndef ADAPTER_SIM_WORLD_H
#define ADAPTER_SIM_WORLD_H

/* Torque on the square drive and angle of the adapter at a time not later than the chip's present;
 * asked for times that go forward and a little back. */
typedef struct ad_world {
    void *ctx;
    void (*at)(void *ctx, double time_s, double *torque_Nm, double *angle_deg);
} ad_world;

#endif
