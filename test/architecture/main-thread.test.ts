import { describe, expect, it } from 'vitest';
import { arrows, sources } from '../support/read-imports.ts';

/** Files that the service starts as threads: what only they import never runs in the service's own thread. */
const THREADS = /(^|\/)worker(\/worker)?\.(mjs|ts)$/;

/** Where work for seconds begins. */
const HEAVY = [
  'server/gltf/survey/survey-model.ts',
  'server/gltf/repair/repair-model.ts',
  'server/gltf/receive/open-model.ts',
  'server/gltf/validate/run-validator.ts',
  'server/gltf/validate/check-delivery.ts',
  'server/gltf/variants/import-variants.ts',
  'server/gltf/write/write-variants.ts',
  'server/gltf/write/stream-glb.ts',
  'server/gltf/extract/plan-extract.ts',
  'server/gltf/materials/finish-material.ts',
  'server/core/combinations/covering-array.ts',
  'server/core/import/read-cgats.ts',
  'server/core/import/read-cxf.ts',
];

function listReachable(from: string): Set<string> {
  const reached = new Set([from]);
  for (const path of reached) {
    for (const { path: by, target, typeOnly } of arrows) {
      if (by === path && !typeOnly && !THREADS.test(target)) reached.add(target);
    }
  }
  return reached;
}

describe('the thread of the service', () => {
  const reached = listReachable('server/main.ts');

  it.each(HEAVY)('never runs %s', (path) => {
    expect(sources).toContain(path);
    expect(reached.has(path)).toBe(false);
  });

  it('runs the rest: the list of what it imports is not empty by mistake', () => {
    for (const path of ['server/http/build-app.ts', 'server/gltf/create-models.ts', 'db/create-stores.ts']) {
      expect(reached.has(path)).toBe(true);
    }
  });
});
