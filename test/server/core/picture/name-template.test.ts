import { expect, it } from 'vitest';
import { fillNameTemplate, readNameTemplate } from '../../../../server/core/picture/name-template.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const read = (template: string) => readNameTemplate(template, '/names');

it('reads fields and the text between them', () => {
  expect(read('pic {product}_{view}')).toEqual(['pic ', { field: 'product' }, '_', { field: 'view' }]);
});

it.each([
  ['{product', 'file-name-template'],
  ['product}', 'file-name-template'],
  ['{{product}}', 'file-name-template'],
  ['plain', 'file-name-template'],
  ['', 'file-name-template'],
  ['{product}/{view}', 'file-name-template'],
  ['{product}\\{view}', 'file-name-template'],
  [`{product}${'x'.repeat(200)}`, 'file-name-template'],
  ['{}', 'unknown-name-field'],
  ['{ product }', 'unknown-name-field'],
  ['{Product}', 'unknown-name-field'],
  ['{date}', 'unknown-name-field'],
  ['{toString}', 'unknown-name-field'],
] as const)('refuses %s as %s', async (template, code) => {
  const problem = await expectRefusal(() => read(template), code);
  expect(problem.more.where).toBe('/names');
});

it('says why there is no date', async () => {
  expect((await expectRefusal(() => read('{date}'), 'unknown-name-field')).message).toContain('made again');
});

it('is filled with values, and refuses to leave one out', async () => {
  const parts = read('{product}_{gtin}');
  expect(fillNameTemplate(parts, { product: 'P', gtin: '1' }, 'variant A')).toBe('P_1');
  const problem = await expectRefusal(
    () => fillNameTemplate(parts, { product: 'P' }, 'variant A'),
    'name-field-missing',
  );
  expect(problem.message).toContain('variant A');
});
