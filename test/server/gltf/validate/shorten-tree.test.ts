import { validateBytes } from 'gltf-validator';
import { describe, expect, it } from 'vitest';
import type { GltfJson, NodeJson } from '../../../../server/gltf/document/json.ts';
import { validateModel } from '../../../../server/gltf/validate/run-validator.ts';
import { shortenTree } from '../../../../server/gltf/validate/shorten-tree.ts';
import { triangleGlb, triangleJson } from '../../../support/bad-models.ts';
import { readGlb } from '../../../support/glb.ts';

const chain = (count: number): NodeJson[] =>
  Array.from({ length: count }, (_, i) => (i + 1 < count ? { name: `n${i}`, children: [i + 1] } : { mesh: 0 }));

function depthOf({ nodes = [] }: GltfJson): number {
  const depths = new Map<number, number>([[0, 0]]);
  for (const [node, depth] of depths) for (const child of nodes[node]!.children ?? []) depths.set(child, depth + 1);
  expect(depths.size).toBe(nodes.length);
  return Math.max(...depths.values());
}

describe('a tree too deep for the validator', () => {
  it('keeps every node and becomes shallow', () => {
    const json = triangleJson({ nodes: chain(20_000) }) as unknown as GltfJson;
    const short = shortenTree(json);
    expect(depthOf(json)).toBe(19_999);
    expect(depthOf(short)).toBeLessThan(40);
    expect(short.nodes!.map(({ name }) => name)).toEqual(json.nodes!.map(({ name }) => name));
  });

  it('of usual depth stays as it is', () => {
    const json = triangleJson({ nodes: chain(1000) }) as unknown as GltfJson;
    expect(shortenTree(json)).toBe(json);
  });

  it('gives the messages of the whole tree', async () => {
    const file = triangleGlb({ nodes: chain(1500), scenes: [{ nodes: [0, 1200] }], accessors: undefined });
    const { json } = readGlb(file);
    expect(shortenTree(json)).not.toBe(json);
    const whole = (await validateBytes(file, { maxIssues: 1000 })) as {
      issues: { messages: { code: string; pointer?: string }[] };
    };
    const short = await validateModel(file, json);
    const list = (messages: readonly { code: string; pointer?: string }[]) =>
      messages.map(({ code, pointer }) => `${code} ${pointer}`).sort();
    expect(list(short.messages)).toEqual(list(whole.issues.messages));
    expect(short.errors).toBeGreaterThan(0);
  });
});
