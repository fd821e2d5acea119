import { expect, it } from 'vitest';
import { createHeldSchedules } from '../../db/stores/schedule-store.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';

const makeSchedule = (rows: number): Schedule => ({
  default: 'V0',
  variants: Array.from({ length: rows }, (_, i) => ({
    code: `V${i}`,
    name: `V${i}`,
    choices: { seat: 'OAK', legs: 'OAK' },
  })),
});

it('schedules are kept by their length: hundreds of short ones, and few long ones', () => {
  const held = createHeldSchedules();
  for (let i = 0; i < 300; i++) held.set(`short ${i}`, { schedule: makeSchedule(20), tag: String(i) });
  expect(held.size).toBe(300);
  const long = makeSchedule(20_000);
  for (let i = 0; i < 20; i++) held.set(`long ${i}`, { schedule: long, tag: String(i) });
  expect(held.size).toBeLessThan(10);
  expect(held.has('long 19')).toBe(true);
});
