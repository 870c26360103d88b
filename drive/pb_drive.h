/*
 * SPDX-FileCopyrightText: 2026 The Pennybridge authors
 * SPDX-License-Identifier: Apache-2.0
 *
 * Drive code of a four-wire bipolar stepper motor: C99, freestanding, no heap, no floating point.
 *
 * What is special to a design is in one constant table (struct pb_table); this file and pb_drive.c
 * are the same for every design. The firmware supplies two functions: one puts a level on a pin,
 * the other starts a one-shot timer. Everything is done inside the calls below, none of which
 * waits.
 *
 *   static pb_drive motor;
 *   pb_drive_init(&motor, &table, &port);   pins to the safe state, as early after reset as can be
 *   pb_drive_move(&motor, 200);             200 states forward, with ramps
 *   while (pb_drive_busy(&motor)) ...
 *   timer interrupt: pb_drive_timer(&motor);
 *
 * Calls from outside the timer interrupt must be made with that interrupt held off.
 */
#ifndef PB_DRIVE_H
#define PB_DRIVE_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Levels of a pin; PB_FLOAT is high impedance. */
enum { PB_LOW = 0, PB_HIGH = 1, PB_FLOAT = 2 };

/* All pins at once. Bit k is pin k; a pin that is not driven floats, and its bit in `high` is 0. */
typedef struct {
  uint16_t high;
  uint16_t driven;
} pb_levels;

/* The two functions of the firmware; `context` is handed back to them. */
typedef struct {
  /* Puts pin k (its number in the tables) on PB_LOW, PB_HIGH or PB_FLOAT. */
  void (*write_pin)(void* context, uint8_t pin, uint8_t level);
  /* Calls pb_drive_timer() once, `ticks` after the instant the timer last ran out if it is set from
     within pb_drive_timer(), else after now. It replaces a time still running; 0 stops the timer.
   */
  void (*set_timer)(void* context, uint32_t ticks);
  void* context;
  /* Where the current is measured, else never called: puts winding 0 or 1's analog output on
     level/65535 of the logic supply. */
  void (*set_reference)(void* context, uint8_t winding, uint16_t level);
} pb_port;

/*
 * A ramp of constant acceleration (D. Austin, "Generate stepper-motor speed profiles in real time",
 * Embedded Systems Programming, 30 December 2004): the interval after state n of a start from rest
 * is c(n) = c(n-1) - 2 c(n-1)/(4n + 1), and c(n-1) = c(n) + 2 c(n)/(4n - 1) when slowing down.
 * Intervals are in 1/2^fraction_bits of a tick and below 2^28, so that 8 c fits into 32 bits.
 */
typedef struct {
  uint32_t first;        /* interval after the first state */
  uint32_t cruise;       /* shortest interval: the running rate */
  uint32_t divisor;      /* 4 (4n + 1) of the first state: n > 0 where the motor starts at a rate */
  uint8_t fraction_bits; /* at most 8 */
} pb_ramp;

/* A state on the way from hold to rest and how long it lasts; the last one stays. */
typedef struct {
  pb_levels levels;
  uint32_t ticks;
} pb_release;

/*
 * Regulation of the winding current by duty. Within each period of `period` ticks a winding is
 * driven for its `on` ticks and then left to decay: its pins are at the levels of `sequence`, then
 * at those of `relaxed`. Winding b's period begins half a period after winding a's, so that the two
 * do not draw on the supply at once. A program that stops serving the timer leaves a winding at the
 * whole supply's current: have a watchdog reset the controller then. The timer runs out at every
 * one of these edges: four a period, and once more after each dead time.
 */
typedef struct {
  const pb_levels* relaxed; /* one a state of the sequence */
  const uint16_t* on_a;     /* one a state: ticks of a period in which winding a is driven */
  const uint16_t* on_b;
  uint16_t period;      /* ticks; 0: not regulated, and nothing else here is read */
  uint16_t pins_a;      /* bit k: pin k steers winding a; the others steer b */
  uint16_t dead_ticks;  /* between a winding's levels within a period; 0 where the decay turns no
                           partner of a driven switch on */
  uint16_t idle;        /* `on` ticks that make no current: half a period where the decay turns the
                           supply round, else 0 */
  uint16_t hold_256ths; /* of the current, once a hold has lasted hold_ticks; 256: all */
} pb_chop;

/*
 * Regulation by measuring the current: what each winding's comparator compares with. What the
 * comparators do then is not this code's: a driver chip chops by itself, or a timer of the
 * controller takes the winding's pins to their relaxed levels for the off-time.
 */
typedef struct {
  const uint16_t* a; /* one a state of the sequence; 0: nothing is measured */
  const uint16_t* b;
  uint16_t hold_256ths; /* of the current, once a hold has lasted hold_ticks; 256: all */
} pb_reference;

typedef struct {
  const pb_levels* sequence; /* the states of one electrical cycle, forward */
  const uint8_t* order;      /* every pin once: the order in which pins are written */
  uint8_t states;            /* in the sequence */
  uint8_t pins;              /* at most 16 */
  uint8_t releases;          /* used of `release`; 0: held for ever */
  uint16_t has_off;          /* bit k: pin k has a level at which its switch is off... */
  uint16_t off_high;         /* ...bit k: and that level is high */
  pb_levels safe;            /* at reset and after a fault */
  pb_release release[2];
  uint32_t dead_ticks; /* from the pins that turn switches off to those that turn switches on */
  uint32_t wake_ticks; /* from current on to the first step */
  uint32_t hold_ticks; /* from the last step to the release, or to less current; 0: held for ever */
  pb_ramp ramp;
  pb_chop chop;
  pb_reference reference;
} pb_table;

typedef enum {
  PB_RESTING, /* released, or not moved yet */
  PB_WAKING,  /* current is on, the first step is still to come */
  PB_MOVING,
  PB_HOLDING,   /* standing with current on */
  PB_RELEASING, /* braking before rest */
  PB_FAULT      /* safe state until pb_drive_clear() */
} pb_mode;

/* Working storage; read `mode` and `position`, leave the rest alone. */
typedef struct {
  const pb_table* table;
  pb_port port;
  pb_mode mode;
  int32_t position;   /* states made, forward less backward */
  uint32_t remaining; /* states still to be made */
  pb_levels now;      /* what the pins are at */
  pb_levels target;   /* what they will be at after the dead time */
  uint32_t after;     /* ticks from the end of the dead time on */
  uint32_t interval;  /* of the ramp, in fractions of a tick */
  uint32_t divisor;   /* 4 (4n + 1) */
  uint32_t climbed;   /* ramp steps up, and so to go down again */
  uint32_t fraction;  /* of a tick, carried from state to state */
  uint8_t index;      /* of the present state in the sequence */
  uint8_t released;   /* of table->release */
  uint8_t backward;   /* 1 while moving backward */
  uint8_t cruising;   /* 1 at the running rate */
  uint8_t pending;    /* 1 during a dead time */
  /* Regulated drives alone: */
  pb_levels relaxed;   /* what the pins are at while windings decay; `target` while driven */
  uint32_t left;       /* ticks until the state ends; 0: never */
  uint32_t waiting;    /* ticks the timer was set to */
  uint32_t blocked[2]; /* ticks for which nothing of a winding may be turned on */
  uint32_t phase;      /* ticks since winding a's period began */
  uint16_t on[2];      /* ticks of a period in which a winding is driven */
} pb_drive;

/* Puts the pins into the safe state. Position 0 is the first state of the sequence. */
void pb_drive_init(pb_drive* d, const pb_table* table, const pb_port* port);

/* Moves by so many states, backward if negative. 0 if refused: moving, releasing, fault, or within
   the dead time of the last state. */
uint8_t pb_drive_move(pb_drive* d, int32_t states);

/* Slows down on the ramp and holds, earlier than the move would. */
void pb_drive_stop(pb_drive* d);

/* To be called when the timer runs out. */
void pb_drive_timer(pb_drive* d);

/* Safe state at once, without ramp; the position may be lost. */
void pb_drive_fault(pb_drive* d);

/* Ends a fault; the pins stay safe, and the motor rests. */
void pb_drive_clear(pb_drive* d);

/* 1 while waking or moving. */
uint8_t pb_drive_busy(const pb_drive* d);

#ifdef __cplusplus
}
#endif

#endif
