import { expect, it } from 'vitest';
import { listNeeded } from '../../../server/pack/write-notice.ts';

const lock = {
  lockfileVersion: 3,
  packages: {
    '': { version: '1.0.0', dependencies: { a: '1', built: '1' } },
    'node_modules/a': { version: '1.0.0', dependencies: { b: '1' }, optionalDependencies: { system: '1', gone: '1' } },
    'node_modules/a/node_modules/b': { version: '1.0.0', dependencies: { c: '1' } },
    'node_modules/b': { version: '2.0.0' },
    'node_modules/built': { version: '1.0.0' },
    'node_modules/c': {
      version: '1.0.0',
      dev: true,
      peerDependencies: { a: '1', other: '1' },
      peerDependenciesMeta: { other: { optional: true } },
    },
    'node_modules/system': { version: '1.0.0', optional: true },
  },
};

it('finds the packages that a package needs as Node does, in circles too', () => {
  expect(listNeeded(lock, ['a'])).toEqual([
    'node_modules/a',
    'node_modules/a/node_modules/b',
    'node_modules/c',
    'node_modules/system',
  ]);
  expect(() => listNeeded(lock, ['none'])).toThrow(/none is missing/);
});
