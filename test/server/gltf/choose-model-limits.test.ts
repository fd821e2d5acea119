import { expect, it } from 'vitest';
import { chooseModelLimits } from '../../../server/gltf/choose-model-limits.ts';

const GIB = 1024 ** 3;
const auto = { threads: null, memoryMib: null, seconds: 120 };

it('chooses threads and memory for models by cores and memory', () => {
  const choose = (cores: number, gib: number) => chooseModelLimits({ cores, memoryBytes: gib * GIB }, auto);
  expect(choose(2, 16)).toEqual({ threads: 3, heapMb: 4096, timeoutMs: 120_000 });
  expect(choose(64, 8)).toMatchObject({ threads: 4, heapMb: 2048 });
  expect(choose(8, 3)).toMatchObject({ threads: 2, heapMb: 768 });
  expect(choose(1, 1)).toMatchObject({ threads: 2, heapMb: 512 });
  expect(chooseModelLimits({ cores: 2, memoryBytes: GIB }, { threads: 6, memoryMib: 300, seconds: 5 })).toEqual({
    threads: 6,
    heapMb: 300,
    timeoutMs: 5000,
  });
});
