import { expect, it } from 'vitest';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { collectNames } from '../../../../server/gltf/write/declare-extensions.ts';

it('finds extensions within extensions, however deep, and none in extras', () => {
  let deep: Record<string, unknown> = { extensions: { EXT_innermost: {} } };
  for (let level = 0; level < 100_000; level++) deep = { inner: deep };
  const json = {
    materials: [{ extensions: { EXT_deep: deep }, extras: { extensions: { EXT_of_nobody: {} } } }],
    nodes: [null, { extensions: { KHR_lights_punctual: { light: 0 } } }],
  } as unknown as GltfJson;
  expect([...collectNames(json)].sort()).toEqual(['EXT_deep', 'EXT_innermost', 'KHR_lights_punctual']);
});
