/*
 * SPDX-FileCopyrightText: 2026 The Pennybridge authors
 * SPDX-License-Identifier: Apache-2.0
 *
 * See pb_drive.h. A state begins with the pins that turn switches off; those that turn switches on
 * follow after the dead time, so that no leg has both its switches on.
 */
#include "pb_drive.h"

/* Pins that are not at the level that turns their switch off. */
static uint16_t turned_on(const pb_table* t, pb_levels x) {
  const uint16_t off = (uint16_t)(x.driven & (uint16_t)~(x.high ^ t->off_high));
  return (uint16_t)(t->has_off & (uint16_t)~off);
}

static uint8_t level_of(pb_levels x, uint16_t bit) {
  if ((x.driven & bit) == 0U) return PB_FLOAT;
  return (x.high & bit) != 0U ? PB_HIGH : PB_LOW;
}

/* Brings the pins of the mask to `to`, those that change, in the table's order. */
static void write_pins(pb_drive* d, pb_levels to, uint16_t mask) {
  uint8_t k;
  for (k = 0; k < d->table->pins; ++k) {
    const uint8_t pin = d->table->order[k];
    const uint16_t bit = (uint16_t)(1U << pin);
    const uint8_t level = level_of(to, bit);
    if ((mask & bit) == 0U || level == level_of(d->now, bit)) continue;
    d->port.write_pin(d->port.context, pin, level);
    d->now.high = (uint16_t)((d->now.high & (uint16_t)~bit) | (to.high & bit));
    d->now.driven = (uint16_t)((d->now.driven & (uint16_t)~bit) | (to.driven & bit));
  }
}

static void set_timer(pb_drive* d, uint32_t ticks) { d->port.set_timer(d->port.context, ticks); }

/* A state that lasts so many ticks; 0: for ever. */
static void begin_state(pb_drive* d, pb_levels to, uint32_t ticks) {
  const uint32_t dead = d->table->dead_ticks;
  const uint16_t changed = (uint16_t)((d->now.high ^ to.high) | (d->now.driven ^ to.driven));
  const uint16_t later = (uint16_t)(changed & turned_on(d->table, to));
  d->pending = 0; /* whatever was still to be turned on */
  if (later == 0U || dead == 0U) {
    write_pins(d, to, changed);
    set_timer(d, ticks);
    return;
  }
  write_pins(d, to, (uint16_t)(changed & (uint16_t)~later));
  d->target = to;
  d->pending = 1;
  /* A state shorter than the dead time is made longer: switches are worth more than speed. */
  d->after = ticks == 0U ? 0U : ticks > dead ? ticks - dead : 1U;
  set_timer(d, dead);
}

/* The ramp's interval becomes that of the next faster state, if that is not above the running
   rate. */
static void faster(pb_drive* d) {
  const uint32_t divisor = d->divisor + 16U;
  const uint32_t interval = d->interval - (8U * d->interval + divisor / 2U) / divisor;
  if (interval <= d->table->ramp.cruise) {
    d->cruising = 1;
    return;
  }
  d->divisor = divisor;
  d->interval = interval;
  ++d->climbed;
}

static void slower(pb_drive* d) {
  const uint32_t divisor = d->divisor - 8U; /* 4 (4n - 1) */
  d->interval += (8U * d->interval + divisor / 2U) / divisor;
  d->divisor -= 16U;
  --d->climbed;
}

/* Ticks until the next state; `remaining` counts the interval that begins. */
static uint32_t next_ticks(pb_drive* d, uint8_t is_first) {
  const pb_ramp* r = &d->table->ramp;
  const uint32_t before_last = d->remaining - 1U;
  uint32_t sum;
  if (is_first == 0U) {
    if (before_last < d->climbed)
      slower(d);
    else if (before_last > d->climbed && d->cruising == 0U)
      faster(d);
  }
  sum = d->fraction + (d->cruising != 0U && before_last > d->climbed ? r->cruise : d->interval);
  d->fraction = sum & (((uint32_t)1U << r->fraction_bits) - 1U);
  sum >>= r->fraction_bits;
  return sum == 0U ? 1U : sum; /* 0 would stop the timer */
}

static void begin_release(pb_drive* d) {
  const pb_release* r = &d->table->release[d->released];
  const uint8_t is_last = (uint8_t)(d->released + 1U >= d->table->releases);
  d->mode = is_last ? PB_RESTING : PB_RELEASING;
  ++d->released;
  begin_state(d, r->levels, is_last ? 0U : r->ticks);
}

static void hold(pb_drive* d) {
  d->mode = PB_HOLDING;
  begin_state(d, d->table->sequence[d->index],
              d->table->releases == 0U ? 0U : d->table->hold_ticks);
}

static void begin_ramp(pb_drive* d) {
  if (d->remaining == 0U) { /* stopped while waking */
    hold(d);
    return;
  }
  d->mode = PB_MOVING;
  d->interval = d->table->ramp.first;
  d->divisor = d->table->ramp.divisor;
  d->climbed = 0;
  d->fraction = 0;
  d->cruising = (uint8_t)(d->interval <= d->table->ramp.cruise);
  set_timer(d, next_ticks(d, 1));
}

static void next_state(pb_drive* d) {
  const pb_table* t = d->table;
  if (d->backward != 0U) {
    d->index = (uint8_t)(d->index == 0U ? t->states - 1U : d->index - 1U);
    --d->position;
  } else {
    d->index = (uint8_t)(d->index + 1U == t->states ? 0U : d->index + 1U);
    ++d->position;
  }
  --d->remaining;
  if (d->remaining == 0U) {
    hold(d);
  } else {
    begin_state(d, t->sequence[d->index], next_ticks(d, 0));
  }
}

void pb_drive_init(pb_drive* d, const pb_table* table, const pb_port* port) {
  d->table = table;
  d->port = *port;
  d->mode = PB_RESTING;
  d->position = 0;
  d->remaining = 0;
  d->after = 0;
  d->interval = table->ramp.first;
  d->divisor = table->ramp.divisor;
  d->climbed = 0;
  d->fraction = 0;
  d->index = 0;
  d->released = 0;
  d->backward = 0;
  d->cruising = 0;
  d->pending = 0;
  /* Out of reset pins float, as inputs do. */
  d->now.high = 0;
  d->now.driven = 0;
  d->target = table->safe;
  begin_state(d, table->safe, 0);
}

uint8_t pb_drive_move(pb_drive* d, int32_t states) {
  const uint8_t holding = (uint8_t)(d->mode == PB_HOLDING && d->pending == 0U);
  if (holding == 0U && d->mode != PB_RESTING) return 0;
  if (states == 0) return 1;
  d->backward = (uint8_t)(states < 0);
  /* In unsigned numbers the most negative move has a magnitude too. */
  d->remaining = states < 0 ? (uint32_t)0U - (uint32_t)states : (uint32_t)states;
  d->released = 0;
  if (holding != 0U) {
    begin_ramp(d);
  } else {
    d->mode = PB_WAKING;
    begin_state(d, d->table->sequence[d->index], d->table->wake_ticks);
  }
  return 1;
}

void pb_drive_stop(pb_drive* d) {
  const uint32_t least = d->mode == PB_WAKING ? 0U : d->climbed + 1U;
  if (pb_drive_busy(d) != 0U && d->remaining > least) d->remaining = least;
}

void pb_drive_timer(pb_drive* d) {
  if (d->pending != 0U) {
    d->pending = 0;
    write_pins(d, d->target, 0xFFFFU);
    set_timer(d, d->after);
    return;
  }
  switch (d->mode) {
    case PB_WAKING:
      begin_ramp(d);
      break;
    case PB_MOVING:
      next_state(d);
      break;
    case PB_HOLDING:
    case PB_RELEASING:
      begin_release(d);
      break;
    case PB_RESTING:
    case PB_FAULT:
      break;
  }
}

void pb_drive_fault(pb_drive* d) {
  d->mode = PB_FAULT;
  begin_state(d, d->table->safe, 0);
}

void pb_drive_clear(pb_drive* d) {
  if (d->mode == PB_FAULT) d->mode = PB_RESTING;
}

uint8_t pb_drive_busy(const pb_drive* d) {
  return (uint8_t)(d->mode == PB_WAKING || d->mode == PB_MOVING);
}
