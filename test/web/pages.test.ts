import pLimit from 'p-limit';
import { describe, expect, it } from 'vitest';
import type { FinishAnswer } from '../../server/http/contracts/finish.ts';
import { getModelMediaType, readProblem } from '../../web/api.ts';
import { findProblem, NEW_FINISH, toBody, toForm } from '../../web/pages/finishes/finish-form.ts';
import { guessProduct } from '../../web/pages/home/add-product-model.ts';
import { addEntries, changeEntry } from '../../web/pages/line/line-changes.ts';
import { planScale } from '../../web/pages/line/plan-scale.ts';
import { findExtent } from '../../web/pages/product/view/elevation.tsx';
import { planPreview } from '../../web/pages/product/view/plan-preview.ts';
import { describeOptions, toggleOption } from '../../web/parts/options-editor.tsx';
import { runInTurn } from '../../web/parts/picture.tsx';
import { matchRoute } from '../../web/router.ts';

describe('addresses', () => {
  it('lead to pages only', () => {
    expect(matchRoute('/')).toEqual({ page: 'home' });
    expect(matchRoute('/products/A%2B1')).toEqual({ page: 'product', code: 'A+1', sheet: 'model' });
    for (const sheet of ['model', 'parts', 'schedule', 'deliver']) {
      expect(matchRoute(`/products/A/${sheet}`)).toEqual({ page: 'product', code: 'A', sheet });
    }
    expect(matchRoute('/lines/north/')).toEqual({ page: 'line', code: 'north' });
    expect(matchRoute('/finishes')).toEqual({ page: 'finishes' });
    expect(matchRoute('/finishes/import')).toEqual({ page: 'import' });
    expect(matchRoute('/picture-sets')).toEqual({ page: 'picture-sets' });
    for (const path of [
      '/api/products',
      '/products',
      '/products/%E0',
      '/products/A/other',
      '/products/A/parts/b',
      '/finishes/a/b',
    ]) {
      expect(matchRoute(path)).toEqual({ page: 'missing' });
    }
  });
});

describe('a refused call', () => {
  it('shows the message of its problem, never a bare status', () => {
    const problem = readProblem(409, JSON.stringify({ code: 'finish-in-use', detail: 'It is used by two schedules.' }));
    expect(problem).toMatchObject({ code: 'finish-in-use', message: 'It is used by two schedules.' });
    expect(readProblem(502, '<html>', '7')).toMatchObject({ code: 'unknown', retryAfterS: 7 });
    expect(readProblem(502, '<html>').message).not.toMatch(/502|html/);
  });
});

describe('adding a product', () => {
  it('guesses code, name and class from the file name', () => {
    expect(guessProduct('Bar_Stool-v2.glb')).toEqual({
      code: 'Bar_Stool-v2',
      name: 'Bar stool v2',
      class: 'bar-stool',
    });
    expect(guessProduct('SheenChair.GLB')).toEqual({ code: 'SheenChair', name: 'Sheen chair', class: 'dining-chair' });
    expect(guessProduct('Lampe à pied (3).zip')).toMatchObject({ code: 'Lampe-a-pied-3', class: 'none' });
    expect(getModelMediaType('a.GLTF')).toBe('model/gltf+json');
    expect(getModelMediaType('a.obj')).toBeNull();
  });
});

describe('the page of a line', () => {
  it('draws its products to one scale, and states when one is enlarged', () => {
    const cube = (mm: number) => ({ widthMm: mm, depthMm: mm, heightMm: mm });
    const [large, half, tiny] = planScale([cube(800), cube(400), cube(40)]);
    expect(large!.share).toBeCloseTo(1);
    expect(half!.share).toBeCloseTo(0.5);
    expect(half!.enlarged).toBeCloseTo(1);
    expect(tiny!.enlarged).toBeGreaterThan(2);
  });

  it('changes one entry of the range, and adds new ones', () => {
    const line = {
      line: 'n',
      name: 'N',
      positions: [],
      range: [{ finish: 'A', grade: 'B', status: 'current' as const }],
      rules: [],
    };
    expect(changeEntry(line, 'A', { grade: '' }).range).toEqual([{ finish: 'A', status: 'current' }]);
    expect(addEntries(line, ['A', 'C']).range.map(({ finish }) => finish)).toEqual(['A', 'C']);
  });
});

describe('options', () => {
  it('are described in words', () => {
    expect(describeOptions(null, 'Seat')).toBe('Same as Seat');
    expect(describeOptions({ grades: ['A', 'B'], families: ['powder-coat'] }, null)).toBe('Grades A, B; powder coat');
    expect(describeOptions({ finishes: ['A', 'B', 'C', 'D', 'E'] }, null)).toBe('A, B, C and 2 more');
  });

  it('are null after the last tick is removed', () => {
    const one = toggleOption(null, 'grades', 'A', true);
    expect(one).toEqual({ grades: ['A'] });
    expect(toggleOption(one, 'grades', 'A', false)).toBeNull();
  });
});

describe('a finish in its form', () => {
  const finish = {
    finish: 'TRN',
    name: 'Tarn',
    family: 'powder-coat',
    colour: { lab: [38, -8, -15], illuminant: 'D65', observer: '2deg' },
    tags: ['warm'],
    revision: 3,
    resolved: { hex: '#2f5d73' },
  } as unknown as FinishAnswer;

  it('keeps fields that the form does not show, and a Lab colour until it is stated as hex', () => {
    expect(toBody({ ...toForm(finish), name: 'Tarn blue' }, finish)).toEqual({
      name: 'Tarn blue',
      family: 'powder-coat',
      colour: finish.colour,
      tags: ['warm'],
    });
    expect(toBody({ ...toForm(finish), way: 'hex', hex: '#000000', roughness: '0,3' }, finish)).toMatchObject({
      colour: { hex: '#000000' },
      roughness: 0.3,
    });
  });

  it('keeps the supplied material until another is chosen', () => {
    const supplied = { ...finish, supplied: { file: 'a'.repeat(64) } };
    expect(toBody(toForm(supplied), supplied)).toMatchObject({ supplied: supplied.supplied });
    expect(toBody({ ...toForm(supplied), material: 'made' }, supplied)).not.toHaveProperty('supplied');
  });

  it('is not stored while it is invalid', () => {
    const form = { ...NEW_FINISH, code: 'A', name: 'A' };
    expect(findProblem(form)).toBeNull();
    for (const part of [{ code: 'a b' }, { name: ' ' }, { hex: 'red' }, { roughness: '2' }, { roughness: 'x' }]) {
      expect(findProblem({ ...form, ...part })).not.toBeNull();
    }
  });
});

describe('the preview', () => {
  it('shows each part in the chosen finish, or in its original material', () => {
    const part = { slot: 'seat', mesh: 0, primitive: 1, materials: { OAK: 7 } };
    const look = { file: '', mount: 'floor', parts: [part] } as const;
    expect(planPreview(look, { seat: 'OAK' })).toEqual([{ mesh: 0, primitive: 1, material: 7 }]);
    expect(planPreview(look, { seat: 'GONE' })[0]!.material).toBeNull();
    expect(planPreview(look, {})[0]!.material).toBeNull();
  });

  it('finds the product in a picture, without the shadow', () => {
    const rgba = new Uint8ClampedArray(10 * 10 * 4);
    for (let y = 2; y < 8; y++) for (let x = 3; x < 6; x++) rgba[(y * 10 + x) * 4 + 3] = 255;
    for (let x = 0; x < 10; x++) rgba[(8 * 10 + x) * 4 + 3] = 120;
    expect(findExtent(rgba, 10, 10)).toEqual({ left: 0.3, right: 0.6, top: 0.2, bottom: 0.8 });
    expect(findExtent(new Uint8ClampedArray(16), 2, 2)).toBeNull();
  });
});

describe('the queue of pictures', () => {
  it('fetches a limited number at a time, in order, and drops cancelled ones', async () => {
    const limit = pLimit(2);
    const begun: number[] = [];
    const finish: (() => void)[] = [];
    const abort = new AbortController();
    const add = (n: number, signal: AbortSignal) =>
      runInTurn(
        limit,
        () => {
          begun.push(n);
          return new Promise<void>((resolve) => finish.push(resolve));
        },
        signal,
      );
    const settle = () => new Promise((resolve) => setTimeout(resolve));
    const live = new AbortController().signal;
    const first = add(1, live);
    void add(2, live);
    const dropped = add(3, abort.signal);
    void add(4, live);
    await settle();
    expect(begun).toEqual([1, 2]);
    abort.abort(new Error('not wanted'));
    finish[0]!();
    await first;
    await expect(dropped).rejects.toThrow('not wanted');
    await settle();
    expect(begun).toEqual([1, 2, 4]);
  });
});
