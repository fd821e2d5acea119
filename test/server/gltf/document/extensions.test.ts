import { expect, it } from 'vitest';
import { listExtensionsInUse } from '../../../../server/gltf/document/extensions.ts';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';

it('finds extensions within extensions, however deep, and none in extras', () => {
  let deep: Record<string, unknown> = { extensions: { EXT_innermost: {} } };
  for (let level = 0; level < 100_000; level++) deep = { inner: deep };
  const json = {
    materials: [{ extensions: { EXT_deep: deep }, extras: { extensions: { EXT_of_nobody: {} } } }],
    nodes: [null, { extensions: { KHR_lights_punctual: { light: 0 } } }],
  } as unknown as GltfJson;
  expect([...listExtensionsInUse(json)].sort()).toEqual(['EXT_deep', 'EXT_innermost', 'KHR_lights_punctual']);
});
