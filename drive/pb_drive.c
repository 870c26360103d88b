/*
 * SPDX-FileCopyrightText: 2026 The Pennybridge authors
 * SPDX-License-Identifier: Apache-2.0
 *
 * See pb_drive.h. A state begins with the pins that turn switches off; those that turn switches on
 * follow after the dead time, so that no leg has both its switches on.
 */
#include "pb_drive.h"

enum { PB_ALL = 256 }; /* of the current, in 256ths */

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

static uint8_t is_chopped(const pb_drive* d) { return (uint8_t)(d->table->chop.period != 0U); }

static uint16_t pins_of(const pb_drive* d, uint8_t winding) {
  const uint16_t a = d->table->chop.pins_a;
  return winding == 0U ? a : (uint16_t)~a;
}

/* Ticks since the winding's own period began. */
static uint32_t phase_of(const pb_drive* d, uint8_t winding) {
  const uint32_t period = d->table->chop.period;
  const uint32_t phase = d->phase + (winding == 0U ? 0U : period / 2U);
  return phase >= period ? phase - period : phase;
}

/* Ticks until the winding is driven or left to decay; 0: it stays as it is. */
static uint32_t next_edge(const pb_drive* d, uint8_t winding) {
  const uint32_t on = d->on[winding], period = d->table->chop.period;
  const uint32_t phase = phase_of(d, winding);
  if (on == 0U || on >= period) return 0;
  return phase < on ? on - phase : period - phase;
}

/* Brings a winding's pins to where its period stands. What turns on waits while it is blocked. */
static void chop(pb_drive* d, uint8_t winding) {
  const pb_table* t = d->table;
  const pb_levels to = phase_of(d, winding) < d->on[winding] ? d->target : d->relaxed;
  const uint16_t mask = pins_of(d, winding);
  const uint16_t changed =
      (uint16_t)(((d->now.high ^ to.high) | (d->now.driven ^ to.driven)) & mask);
  const uint16_t later = (uint16_t)(changed & turned_on(t, to));
  const uint16_t goes_off = (uint16_t)(changed & (uint16_t)~later & t->has_off);
  if (later != 0U && goes_off != 0U && d->blocked[winding] < t->chop.dead_ticks)
    d->blocked[winding] = t->chop.dead_ticks;
  if (d->blocked[winding] != 0U)
    write_pins(d, to, (uint16_t)(changed & (uint16_t)~later));
  else
    write_pins(d, to, changed);
}

static uint32_t sooner(uint32_t a, uint32_t b) { return a == 0U || (b != 0U && b < a) ? b : a; }

/* Both windings as they should be now, and the timer to whatever comes next. */
static void go_on(pb_drive* d) {
  uint8_t w;
  d->waiting = d->left;
  for (w = 0; w < 2U; ++w) {
    chop(d, w);
    d->waiting = sooner(d->waiting, sooner(next_edge(d, w), d->blocked[w]));
  }
  d->port.set_timer(d->port.context, d->waiting);
}

static void set_timer(pb_drive* d, uint32_t ticks) {
  if (is_chopped(d) != 0U) {
    d->left = ticks;
    go_on(d);
  } else {
    d->port.set_timer(d->port.context, ticks);
  }
}

/* From now on these levels while a winding is driven, and those while it decays. A winding whose
   levels become others waits for the dead time before anything of it is turned on. */
static void begin_chopped(pb_drive* d, pb_levels driven, pb_levels relaxed, const uint16_t on[2],
                          uint32_t ticks) {
  const uint16_t other =
      (uint16_t)((driven.high ^ d->target.high) | (driven.driven ^ d->target.driven) |
                 (relaxed.high ^ d->relaxed.high) | (relaxed.driven ^ d->relaxed.driven));
  uint8_t w;
  for (w = 0; w < 2U; ++w) {
    if ((other & pins_of(d, w)) != 0U) d->blocked[w] = d->table->dead_ticks;
    d->on[w] = on[w];
  }
  d->target = driven;
  d->relaxed = relaxed;
  set_timer(d, ticks);
}

/* Levels that last so many ticks; 0: for ever. */
static void begin_state(pb_drive* d, pb_levels to, uint32_t ticks) {
  const uint32_t dead = d->table->dead_ticks;
  const uint16_t changed = (uint16_t)((d->now.high ^ to.high) | (d->now.driven ^ to.driven));
  const uint16_t later = (uint16_t)(changed & turned_on(d->table, to));
  if (is_chopped(d) != 0U) {
    static const uint16_t never[2] = {0, 0};
    begin_chopped(d, to, to, never, ticks);
    return;
  }
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

static uint16_t shared(uint16_t on, uint16_t idle, uint16_t share_256ths) {
  if (on <= idle) return on;
  return (uint16_t)(idle + (((uint32_t)(on - idle) * share_256ths) >> 8));
}

static uint8_t is_measured(const pb_drive* d) { return (uint8_t)(d->table->reference.a != 0); }

static void set_references(pb_drive* d, uint16_t share_256ths) {
  const pb_reference* r = &d->table->reference;
  if (is_measured(d) == 0U) return;
  d->port.set_reference(d->port.context, 0,
                        (uint16_t)(((uint32_t)r->a[d->index] * share_256ths) >> 8));
  d->port.set_reference(d->port.context, 1,
                        (uint16_t)(((uint32_t)r->b[d->index] * share_256ths) >> 8));
}

/* The sequence's present state, for so many ticks, with so many 256ths of its current. */
static void begin_present(pb_drive* d, uint32_t ticks, uint16_t share_256ths) {
  const pb_table* t = d->table;
  uint16_t on[2];
  set_references(d, share_256ths);
  if (is_chopped(d) == 0U) {
    begin_state(d, t->sequence[d->index], ticks);
    return;
  }
  on[0] = shared(t->chop.on_a[d->index], t->chop.idle, share_256ths);
  on[1] = shared(t->chop.on_b[d->index], t->chop.idle, share_256ths);
  begin_chopped(d, t->sequence[d->index], t->chop.relaxed[d->index], on, ticks);
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

static uint8_t holds_with_less(const pb_drive* d) {
  if (is_measured(d) != 0U) return (uint8_t)(d->table->reference.hold_256ths < PB_ALL);
  return (uint8_t)(is_chopped(d) != 0U && d->table->chop.hold_256ths < PB_ALL);
}

static void hold(pb_drive* d) {
  const uint8_t ends = (uint8_t)(d->table->releases != 0U || holds_with_less(d) != 0U);
  d->mode = PB_HOLDING;
  begin_present(d, ends != 0U ? d->table->hold_ticks : 0U, PB_ALL);
}

/* A hold is over: with less current from now on, or none. */
static void end_hold(pb_drive* d) {
  if (d->table->releases != 0U)
    begin_release(d);
  else
    begin_present(
        d, 0, is_measured(d) != 0U ? d->table->reference.hold_256ths : d->table->chop.hold_256ths);
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
  if (is_chopped(d) != 0U || is_measured(d) != 0U) /* a hold with less current ends */
    begin_present(d, next_ticks(d, 1), PB_ALL);
  else
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
    begin_present(d, next_ticks(d, 0), PB_ALL);
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
  d->relaxed = table->safe;
  d->left = 0;
  d->waiting = 0;
  d->phase = 0;
  d->blocked[0] = table->dead_ticks;
  d->blocked[1] = table->dead_ticks;
  d->on[0] = 0;
  d->on[1] = 0;
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
    begin_present(d, d->table->wake_ticks, PB_ALL);
  }
  return 1;
}

void pb_drive_stop(pb_drive* d) {
  const uint32_t least = d->mode == PB_WAKING ? 0U : d->climbed + 1U;
  if (pb_drive_busy(d) != 0U && d->remaining > least) d->remaining = least;
}

/* Lets the ticks pass that the timer was set to; 1 if the state is over. */
static uint8_t let_pass(pb_drive* d) {
  const uint32_t passed = d->waiting, period = d->table->chop.period;
  uint8_t w;
  /* No edge is more than a period away; with none at all, where the period stands is no matter. */
  d->phase += passed;
  if (d->phase >= period) d->phase -= period;
  if (d->phase >= period) d->phase = 0;
  for (w = 0; w < 2U; ++w) d->blocked[w] -= passed < d->blocked[w] ? passed : d->blocked[w];
  if (d->left == 0U) return 0;
  d->left -= passed;
  return (uint8_t)(d->left == 0U);
}

void pb_drive_timer(pb_drive* d) {
  if (is_chopped(d) != 0U && let_pass(d) == 0U) {
    go_on(d);
    return;
  }
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
      end_hold(d);
      break;
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
