import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Start first, so that no worker is left with one of them while the other has nothing to do. */
const LONG = [
  'journey/wild-models',
  'journey/sheets',
  'journey/mutated-models',
  'picture/baked-normals',
  'renderer/create-renderer',
  'journey/ready-sets',
];

class LongFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    const place = ({ moduleId }: TestSpecification) => {
      const at = LONG.findIndex((name) => moduleId.endsWith(`${name}.test.ts`));
      return at < 0 ? LONG.length : at;
    };
    return sorted.sort((one, other) => place(one) - place(other));
  }
}

export default defineConfig({
  test: {
    root: fileURLToPath(new URL('..', import.meta.url)),
    include: ['test/**/*.test.ts'],
    pool: 'forks',
    maxWorkers: 2,
    // a worker loads each module once, and its test files share one browser and one filled demo
    isolate: false,
    setupFiles: ['test/support/set-up.ts'],
    sequence: { sequencer: LongFirst },
    // pictures in software GL on a shared machine: a limit against hanging, never a measure
    testTimeout: 180_000,
    hookTimeout: 180_000,
  },
});
