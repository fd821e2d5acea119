import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { REPAIRS } from '../../../../server/core/repair/repair.ts';
import {
  describeNoMaterials,
  REPAIR_LOSSES,
  REPAIR_NOTES,
  REPAIR_OUTCOMES,
} from '../../../../server/core/texts/repair-outcomes.ts';
import { listTexts } from '../../../support/list-texts.ts';
import { listRetiredWords } from '../../../support/retired-words.ts';

// Every message of a repair, and every word for damage, is in a catalogue and in plain English, for one thing and for several.

const TEXTS = fileURLToPath(new URL('../../../../server/core/texts/', import.meta.url));
const REPAIR = fileURLToPath(new URL('../../../../server/gltf/repair/', import.meta.url));

it('has messages for every repair', () => {
  expect(Object.keys(REPAIR_OUTCOMES).sort()).toEqual(Object.keys(REPAIRS).sort());
});

it.each([
  ['repair-outcomes.ts', 100],
  ['damage-texts.ts', 30],
])('has no retired word: %s', (file, least) => {
  const texts = listTexts(`${TEXTS}${file}`);
  expect(texts.length).toBeGreaterThan(least);
  const wrong = texts.flatMap(({ text, where }) =>
    listRetiredWords(text).map((word) => `${where}: ${word} in “${text}”`),
  );
  expect(wrong).toEqual([]);
});

it('finds no sentence at a call site', () => {
  const paths = readdirSync(REPAIR, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
  expect(paths.length).toBeGreaterThan(25);
  const sentences = paths
    .flatMap((path) => listTexts(`${REPAIR}${path}`))
    .filter(({ text }) => /^\s?(?:[A-Z“…]\S* )?[a-z]+ .*[a-z]/.test(text) || /[a-z]\.$/.test(text))
    .map(({ text, where }) => `${where.slice(REPAIR.length)}: ${text}`);
  // errors of the code itself, which no user sees
  expect(sentences).toEqual([
    expect.stringMatching(/^edit\/freed-objects\.ts:\d+: …\/… is still in use$/),
    expect.stringMatching(/^operations\/fit-textures\.ts:\d+: not a readable image$/),
  ]);
});

it('counts one thing and several', () => {
  const bake = { nodes: 1, vertices: 1234, mirrored: 1, meshesCopied: 0, nodesRemoved: 2 };
  expect(REPAIR_OUTCOMES['bake-transforms'].done(bake)).toBe(
    '1 part no longer has a transform: 1,234 vertices moved, 1 mirrored part corrected, 2 empty nodes removed.',
  );
  const pieces = { material: '“Body”', byId: 1, byPart: 0, byShape: 0, byColour: 0, left: 2 };
  expect(REPAIR_OUTCOMES['separate-pieces'].done({ ...pieces, groups: [{ name: 'Sole', pieces: 1 }] })).toBe(
    '1 piece of “Body” is now the slot “Sole” (1): 1 found by id, 2 stay with “Body”.',
  );
  expect(REPAIR_OUTCOMES['fit-textures'].nothing(1)).toBe('The image cannot be made smaller this way.');
  expect(REPAIR_OUTCOMES['fit-textures'].nothing(3)).toBe('None of the 3 images can be made smaller this way.');
  expect(REPAIR_OUTCOMES['merge-parts'].nothing(0)).toBe('The scene has fewer than two parts that can be merged.');
  expect(REPAIR_OUTCOMES.place.done([0.012, null, -1.5], { mount: 'floor', isCentred: true })).toBe(
    'Moved by 12 mm along X and -1,500 mm along Z. The model now stands on the floor, centred.',
  );
  expect(
    REPAIR_OUTCOMES['strip-unused'].done(
      [
        ['meshes', 1],
        ['lights', 0],
        ['channels', 2],
      ],
      1200,
    ),
  ).toBe('Dyeworks removed 1 mesh, 2 animation channels and 1.2 kB of unread data.');
  expect(REPAIR_OUTCOMES['unshare-mesh'].done(['“Leg”'], 3, 1)).toBe(
    'Dyeworks made 3 copies of “Leg”, so every node has a mesh of its own. 1 mesh is still shared, because an animation changes it by pointer.',
  );
});

it('adds notes and losses that fit into a sentence', () => {
  expect(REPAIR_NOTES.unchanged(new Map())).toBe('');
  expect(REPAIR_NOTES.unchanged(new Map([['animated', 2]]))).toBe(' Unchanged parts: 2 animated.');
  expect(REPAIR_NOTES.unusedLeft(1, ['ACME_hinges'])).toBe(
    ' 1 unused object stays in the file, because “ACME_hinges” may refer to it.',
  );
  expect(describeNoMaterials([], ['“Oak”'])).toBe('The list of materials is empty. Name at least one.');
  expect(describeNoMaterials(['Elm'], ['“Oak”', '“Felt”'])).toBe(
    'The model has no material “Elm”; it has “Oak” and “Felt”. Correct the names.',
  );
  expect(REPAIR_LOSSES.extension('ACME_hinges', 1)).toBe('ACME_hinges on 1 node or mesh');
  expect(REPAIR_LOSSES.mapPlacement(2, '“Oak”')).toBe('the placement of 2 maps of “Oak”');
});
