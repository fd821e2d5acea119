import { describe, expect, it } from 'vitest';
import type { Finding } from '../../server/core/product/finding.ts';
import type { ProductAnswer, SlotAnswer } from '../../server/http/contracts/product.ts';
import { readBenchKey } from '../../web/pages/product/bench/bench-keys.ts';
import {
  describeDelivery,
  describeModel,
  describeParts,
  describeSchedule,
} from '../../web/pages/product/bench/describe-bench.ts';
import {
  labelProductChange,
  labelSlotChange,
  revertProduct,
  revertSlot,
} from '../../web/pages/product/bench/undo-steps.ts';
import { describePart } from '../../web/pages/product/slots/describe-part.ts';

const product = {
  name: 'Stool',
  line: null,
  class: 'stool',
  mount: 'floor',
  sheet: { widthMm: 368, depthMm: 368, heightMm: 450 },
  budget: 'print',
  model: { revision: 3, sha256: '', bytes: 1 },
} as unknown as ProductAnswer;

const slot = {
  slot: 'seat',
  label: 'Seat',
  position: 'seat',
  options: { grades: ['A'] },
  fixed: false,
  keep: { normal: 'both-or-part', occlusion: true, alpha: true, detail: false, wear: true },
  grainDegrees: 90,
  directions: null,
  primitives: 1,
  allowed: [],
} as unknown as SlotAnswer;

const finding = (severity: Finding['severity']) => ({ severity }) as Finding;

describe('the bar of the bench', () => {
  it('says in words what state each sheet is in', () => {
    expect(describeModel(null, [])).toBe('no model yet');
    expect(describeModel(product, [finding('note')])).toBe('revision 3, nothing to check');
    expect(describeModel(product, [finding('warning'), finding('note')])).toBe('revision 3, 1 to check');
    expect(describeModel(product, [finding('error'), finding('warning')])).toBe('revision 3, 1 finding blocks it');
    expect(describeParts([slot, { ...slot, fixed: true }])).toBe('2 slots, 1 without options');
    expect(describeParts([{ ...slot, primitives: 0 }])).toBe('0 slots');
    expect(describeSchedule(0, 0)).toBe('no variants yet');
    expect(describeSchedule(9, 0)).toBe('9 variants');
    expect(describeSchedule(1, 2)).toBe('1 variant, 2 rows not saved');
    expect(describeDelivery(null, null)).toBe('none yet');
    expect(describeDelivery(4, null)).toBe('delivery 4');
    const pending = { since: 3, outdated: true, variants: 80 };
    expect(describeDelivery(3, pending)).toBe('delivery 3, out of date: 80 variants differ');
    expect(describeDelivery(3, { ...pending, variants: 0 })).toBe('delivery 3, out of date');
    expect(describeDelivery(3, { ...pending, outdated: false, variants: 0 })).toBe('delivery 3, up to date');
    // the answer for the delivery before, while the new one is awaited
    expect(describeDelivery(4, pending)).toBe('delivery 4');
  });
});

describe('what a slot keeps', () => {
  const keep = { normal: 'part', occlusion: true, alpha: true, detail: true, wear: true } as const;

  it('is one sentence, with the maps that are left out and the direction', () => {
    expect(describePart({ keep, fixed: false, directions: null, grainDegrees: 0 })).toBe('Seams kept, weave hidden');
    expect(
      describePart({
        keep: { ...keep, normal: false, alpha: false, wear: false },
        fixed: false,
        directions: { wood: 90 },
        grainDegrees: 0,
      }),
    ).toBe('Weave shown, seams hidden; without holes, wear; grain lengthwise, 90°');
    expect(describePart({ keep, fixed: false, directions: null, grainDegrees: 45 })).toBe(
      'Seams kept, weave hidden; direction 45°',
    );
    expect(describePart({ keep, fixed: true, directions: null, grainDegrees: 45 })).toBe('Everything kept');
  });
});

describe('the keys of the bench', () => {
  const key = (name: string, extra: object = {}) => ({
    key: name,
    ctrlKey: true,
    metaKey: false,
    shiftKey: false,
    altKey: false,
    ...extra,
  });

  // common practice: the keys of every editor, with Ctrl or with ⌘
  it('undo, redo and save', () => {
    expect(readBenchKey(key('z'), false)).toBe('undo');
    expect(readBenchKey(key('Z', { shiftKey: true }), false)).toBe('redo');
    expect(readBenchKey(key('y'), false)).toBe('redo');
    expect(readBenchKey(key('s', { ctrlKey: false, metaKey: true }), false)).toBe('save');
  });

  it('leave typing, other keys and letters without Ctrl alone', () => {
    expect(readBenchKey(key('z'), true)).toBeNull();
    expect(readBenchKey(key('s'), true)).toBe('save');
    expect(readBenchKey(key('z', { ctrlKey: false }), false)).toBeNull();
    expect(readBenchKey(key('z', { altKey: true }), false)).toBeNull();
    expect(readBenchKey(key('s', { shiftKey: true }), false)).toBeNull();
    expect(readBenchKey(key('p'), false)).toBeNull();
  });
});

describe('a change that can be undone', () => {
  it('of a product brings back the values before it', () => {
    expect(revertProduct(product, { mount: 'wall', sheet: null })).toEqual({ mount: 'floor', sheet: product.sheet });
    expect(labelProductChange({ mount: 'wall', sheet: null })).toBe('mount, data-sheet size');
  });

  it('of a slot brings back what the part kept, and a direction that followed the part', () => {
    expect(revertSlot(slot, { options: null })).toEqual({ options: { grades: ['A'] } });
    expect(revertSlot(slot, { keep: { detail: true } })).toEqual({ keep: { detail: false } });
    expect(revertSlot(slot, { grainDegrees: 0 })).toEqual({ grainDegrees: 90 });
    expect(revertSlot({ ...slot, directions: { wood: 90 } }, { grainDegrees: 0 })).toEqual({ grainDegrees: null });
    expect(labelSlotChange(slot, { keep: { detail: true } })).toBe('kept maps of Seat');
  });
});
