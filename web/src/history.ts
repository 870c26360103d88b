// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Undo and redo of a text. Changes that follow each other quickly are one step.
const kTogether_ms = 700;
const kSteps = 500;

export class History {
  private past: string[] = [];
  private future: string[] = [];
  private last = 0;

  constructor(private now: string) {}

  add(text: string, time = Date.now()) {
    if (text === this.now) return;
    if (this.past.length === 0 || time - this.last > kTogether_ms) this.past.push(this.now);
    if (this.past.length > kSteps) this.past.shift();
    this.now = text;
    this.future = [];
    this.last = time;
  }

  undo(show: (text: string) => void) {
    const text = this.past.pop();
    if (text === undefined) return;
    this.future.push(this.now);
    this.step(text, show);
  }

  redo(show: (text: string) => void) {
    const text = this.future.pop();
    if (text === undefined) return;
    this.past.push(this.now);
    this.step(text, show);
  }

  get canUndo() {
    return this.past.length > 0;
  }
  get canRedo() {
    return this.future.length > 0;
  }

  private step(text: string, show: (text: string) => void) {
    this.now = text;
    this.last = 0;
    show(text);
  }
}
