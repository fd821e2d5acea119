import { expect, it } from 'vitest';
import { isAllowed } from '../../../server/pack/licences.ts';

it.each([
  ['a', 'MIT', true],
  ['a', '(MIT OR WTFPL)', true],
  ['a', 'GPL-3.0-only', false],
  ['a', 'GPL-3.0-only OR MIT', true],
  ['a', 'MIT AND GPL-3.0-only', false],
  ['a', '(MIT OR GPL-3.0-only) AND ISC', true],
  ['a', 'ISC AND (AGPL-3.0-only OR GPL-3.0-only)', false],
  ['a', 'LGPL-3.0-or-later', false],
  ['@img/sharp-libvips-linux-x64', 'LGPL-3.0-or-later', true],
  ['@img/sharp-wasm32', 'Apache-2.0 AND LGPL-3.0-or-later AND MIT', true],
  ['a', 'SEE LICENSE IN LICENSE.md', false],
  ['a', 'UNLICENSED', false],
  ['a', '', false],
  ['a', undefined, false],
  ['a', '(MIT', false],
  ['a', 'MIT ISC', false],
])('%s under %s may be shipped: %s', (name, expression, allowed) => {
  expect(isAllowed(name, expression)).toBe(allowed);
});
