import { describe, expect, it } from 'vitest';
import { listUris, planPackage } from '../../web/parts/plan-package.ts';

// How a .gltf names its files: glTF 2.0, 3.6.1.1 and 5.9 (`uri`, relative to the file, percent-encoded by RFC 3986).

const files = (...paths: string[]) => paths.map((path) => ({ path }));
const plan = (uris: readonly string[], own: string, ...others: string[]) => {
  const given = files(own, ...others);
  const result = planPackage({ buffers: uris.map((uri) => ({ uri })) }, given[0]!, given);
  return 'missing' in result ? result : result.files.map(({ path, given: file }) => [path, file.path]);
};

it('lists buffers and images, each once, without data URLs', () => {
  const json = {
    buffers: [{ uri: 'a%20b.bin' }, { uri: 'data:application/octet-stream;base64,AA==' }, {}],
    images: [{ uri: 'maps/oak.png' }, { uri: 'maps/oak.png' }, { bufferView: 1 }, null],
  };
  expect(listUris(json)).toEqual(['a b.bin', 'maps/oak.png']);
  for (const odd of [null, 3, [], {}, { buffers: 'x', images: {} }]) expect(listUris(odd)).toEqual([]);
});

describe('a model in parts', () => {
  it('takes the files that it names, and no others', () => {
    expect(plan(['chair.bin', 'maps/oak.png'], 'chair.gltf', 'chair.bin', 'chair.blend', 'maps/oak.png')).toEqual([
      ['chair.gltf', 'chair.gltf'],
      ['chair.bin', 'chair.bin'],
      ['maps/oak.png', 'maps/oak.png'],
    ]);
  });

  it('is found in a dropped folder', () => {
    expect(plan(['./maps/oak.png'], 'Chair/src/chair.gltf', 'Chair/src/maps/oak.png', 'Chair/maps/oak.png')).toEqual([
      ['Chair/src/chair.gltf', 'Chair/src/chair.gltf'],
      ['Chair/src/maps/oak.png', 'Chair/src/maps/oak.png'],
    ]);
  });

  it('may have lost its folders, or the case of its names', () => {
    expect(plan(['maps/Oak.png'], 'chair.gltf', 'oak.PNG')).toEqual([
      ['chair.gltf', 'chair.gltf'],
      ['maps/Oak.png', 'oak.PNG'],
    ]);
    // two files of that name: neither is certain
    expect(plan(['maps/oak.png'], 'chair.gltf', 'a/oak.png', 'b/oak.png')).toEqual({ missing: ['maps/oak.png'] });
  });

  it('keeps every path inside the zip, also where it leads up', () => {
    expect(plan(['../maps/oak.png'], 'Chair/src/chair.gltf', 'Chair/maps/oak.png')).toEqual([
      ['Chair/src/chair.gltf', 'Chair/src/chair.gltf'],
      ['Chair/maps/oak.png', 'Chair/maps/oak.png'],
    ]);
    expect(plan(['../../maps/oak.png'], 'chair.gltf', 'oak.png')).toEqual([
      ['model/model/chair.gltf', 'chair.gltf'],
      ['maps/oak.png', 'oak.png'],
    ]);
  });

  it('says which files are missing', () => {
    expect(plan(['chair.bin', 'oak.png'], 'chair.gltf', 'oak.png')).toEqual({ missing: ['chair.bin'] });
  });
});
