import { ShaderChunk, ShaderLib } from 'three';
import { describe, expect, it } from 'vitest';
import { addGlossBand, replaceOnce } from '../../../renderer/page/change-shaders.ts';
import { addStudioShading, checkShaders, rewriteShading } from '../../../renderer/page/studio-shading.ts';

describe('changes to three’s shaders', () => {
  const physical = ShaderLib.physical.fragmentShader;

  it('fit the installed version of three', () => {
    expect(() => checkShaders()).not.toThrow();
  });

  // Each replaced text, as another version of three might write it.
  it.each([
    ['transmission_pars_fragment', '#ifdef USE_TRANSMISSION\n', '#if USE_TRANSMISSION\n'],
    ['transmission_pars_fragment', '( 1.0 - F ) * attenuatedColor', 'attenuatedColor * ( 1.0 - F )'],
    ['lights_physical_fragment', 'material.anisotropyT =', 'material.anisotropyTangent ='],
  ] as const)('name the text of the chunk %s that no longer fits: %j', (name, from, to) => {
    const { transmission_pars_fragment, lights_physical_fragment } = ShaderChunk;
    const chunks = { transmission_pars_fragment, lights_physical_fragment };
    expect(chunks[name]).toContain(from);
    expect(() => checkShaders({ ...chunks, [name]: chunks[name].replace(from, to) })).toThrow(
      new RegExp(`stands 0 times in the chunk ${name} of three`),
    );
  });

  it('report when the viewer’s direction of the panel’s band no longer fits', () => {
    const chunk = ShaderChunk.lights_fragment_begin;
    const shader = rewriteShading(physical, true);
    expect(() => addGlossBand(shader, chunk)).not.toThrow();
    expect(() => addGlossBand(shader, chunk.replace('vec3 geometryViewDir =', 'vec3 geometryViewer ='))).toThrow(
      'stands 0 times in the chunk lights_fragment_begin of three',
    );
  });

  it.each([
    '#include <transmission_pars_fragment>',
    '#include <colorspace_fragment>',
    '#include <lights_physical_fragment>',
    '#include <aomap_fragment>',
    '#include <lights_fragment_begin>',
    'void main() {',
  ])('report that %s is missing in the shader, or occurs twice', (text) => {
    expect(() => checkShaders(undefined, physical.replace(text, ''))).toThrow(`“${text}” stands 0 times`);
    expect(() => checkShaders(undefined, `${physical}\n${text}`)).toThrow(`“${text}” stands 2 times`);
  });

  it('stop the drawing of a material with another shader', () => {
    const material = { userData: {} } as never as Parameters<typeof addStudioShading>[0];
    addStudioShading(material, null);
    const shader = { vertexShader: '', fragmentShader: 'void main() {}', uniforms: {} };
    expect(() => material.onBeforeCompile(shader as never, {} as never)).toThrow('of three, not once');
  });
});

it('replaces a text once, whatever the new text contains', () => {
  // `String.replace` would read `$&` as the matched text.
  expect(replaceOnce('a b c', 'b', '$&', 'x')).toBe('a $& c');
});
