import type { ProblemTexts } from '../../problems.ts';
import { count } from '../format-text.ts';

/** A JSON pointer as a path that a person can follow in the JSON of a model: `/nodes/3/mesh` is “nodes › 3 › mesh”. */
const formatPath = (pointer: string) => pointer.slice(1).replaceAll('/', ' › ');

/** Texts about the files of models: GLB, .gltf, ZIP files, and what they contain. */
export const MODEL_PROBLEMS = {
  'model-unreadable': {
    notGlb: 'The file does not start with “glTF”, so it is not a GLB file. Export the model as binary glTF (.glb).',
    longerThanStated: (stated: number, fileBytes: number) =>
      `The header gives a length of ${stated} bytes, but the file has ${fileBytes}. Send it again; if that does not help, export it again.`,
    noJson: 'The first chunk of a GLB file must be its JSON, 256 MiB at most. This one is not. Export the model again.',
    notFinite: (path: string) =>
      `Some values of the model are too large to measure (${formatPath(path)}). Look for a part that is very far away or has a very large scale, and export the model again.`,
    unexpectedShape:
      'Dyeworks cannot read the structure of this model. Check it with a glTF validator, or export it again.',
  },
  'model-truncated': {
    shorterThanStated: (stated: number, fileBytes: number) =>
      `The header gives a length of ${stated} bytes, but the file has only ${fileBytes}. Send it again; if that does not help, export it again.`,
    chunk: (chunk: number, stated: number, left: number) =>
      `Chunk ${chunk} gives a length of ${stated} bytes, but only ${left} bytes are left in the file. Export the model again.`,
    noChunks: 'The file ends after its header. Send it again.',
    inHeader: (fileBytes: number) => `The file ends inside a header, at byte ${fileBytes}. Send it again.`,
    noBin: (bytes: number) =>
      `Buffer 0 needs ${bytes} bytes from the BIN chunk, but the file has no BIN chunk. Export the model again.`,
    bin: (stated: number, bytes: number) =>
      `Buffer 0 needs ${stated} bytes, but the BIN chunk has ${bytes}. Export the model again.`,
    dataUri: (stated: number, bytes: number) =>
      `Buffer 0 needs ${stated} bytes, but its data URI has ${bytes}. Export the model again.`,
    bufferFile: (buffer: number, stated: number, bytes: number) =>
      `Buffer ${buffer} needs ${stated} bytes, but its file has ${bytes}. Export the model again.`,
  },
  'model-json': {
    unreadable: (reason: string) => `The JSON of the model cannot be read: ${reason}. Export the model again.`,
    notObject: 'The JSON of the model is not an object. Export the model again.',
  },
  'model-version': {
    container: (version: number) => `The GLB file has container version ${version}. Export the model as glTF 2.0.`,
    asset: 'The model does not state that it is glTF 2.0 (asset.version). Export it as glTF 2.0.',
  },
  'model-too-complex': {
    depth: (limit: number) =>
      `The JSON of the model is nested more than ${limit} levels deep. Export it without the extras that cause this.`,
    members: (members: number, limit: number) =>
      `The JSON of the model has ${members} members; ${limit} are allowed. Join parts, and export it again.`,
    objects: (objects: number, limit: number) =>
      `The model has ${objects} objects; ${limit} are allowed. Join parts, and export it again.`,
    kind: (kind: string, found: number, limit: number) =>
      `The model has ${found} ${kind}; ${limit} are allowed. Join parts or leave out what the product does not need, and export it again.`,
    drawn: (vertices: number, triangles: number) =>
      `The scene draws more than ${vertices / 1e6} million vertices or ${triangles / 1e6} million triangles. Export a coarser mesh, or fewer copies of it.`,
    unpacked: (mebibytes: number) =>
      `The geometry of the model would take more than ${mebibytes} MiB when unpacked. Export a coarser mesh.`,
    scene: (vertices: number, triangles: number, instances: number) =>
      `The scene draws more than ${vertices / 1e6} million vertices or ${triangles / 1e6} million triangles with all instances, or one mesh more than ${instances / 1e6} million times. Export it with fewer instances, or a coarser mesh.`,
    reading: 'Reading the model took too much memory. Join parts or use a coarser mesh, and export it again.',
  },
  'model-took-too-long': (seconds: number) =>
    `Reading the model took longer than ${seconds} s, which is the limit for one file. Join parts or leave out what the product does not need, and export it again.`,
  'work-cancelled': 'The call ended before its work was done, so Dyeworks changed nothing. Send it again.',
  'model-broken-reference': {
    structure: (pointer: string, expected: string, received: string) =>
      `The JSON of the model contains an error at ${formatPath(pointer)}. Dyeworks expected ${expected}, but found ${received}. Correct it there, or export the model again.`,
    noImage: (image: number) =>
      `A material of the file uses image ${image}, but the file does not contain its data. Export the file again.`,
  },
  'model-outside-file': (uri: string) =>
    `The model refers to “${uri}”, which is outside the file. Export one binary file (.glb), or send a ZIP file of the .gltf and its files.`,
  'image-too-large': (image: number, widthPx: number, heightPx: number) =>
    `Image ${image} is ${widthPx} × ${heightPx} px, which is too large. Make it smaller: 2048 px are enough for a part of a product.`,
  'archive-unreadable': {
    zip: (reason: string) => `The ZIP file cannot be read: ${reason}. Create it again.`,
    crc: (path: string) =>
      `“${path}” in the ZIP file is damaged: its data does not match its CRC-32. Create the ZIP file again from the original.`,
    twice: (path: string) =>
      `The ZIP file contains “${path}” twice, and programs differ in which one they read. Create it again with each file once.`,
    encrypted: (path: string) =>
      `“${path}” in the ZIP file is encrypted. Create the ZIP file again without a password.`,
    link: (path: string) =>
      `“${path}” in the ZIP file is a link to another file. Create the ZIP file again with the file itself.`,
    overlap: (path: string) =>
      `“${path}” in the ZIP file shares data with another file, which no common program writes. Create the ZIP file again.`,
  },
  'archive-path': {
    entry: (path: string) =>
      `“${path}” leads out of the ZIP file. Add the .gltf and its files with simple relative paths.`,
    uri: (uri: string) =>
      `The model refers to “${uri}”, which leads out of the ZIP file. Put the files next to the .gltf.`,
  },
  'archive-too-large': (mebibytes: number, files: number) =>
    `The ZIP file unpacks to more than ${mebibytes} MiB, the limit for a file of its size, or to more than ${files} files. Send only the model and the files it needs.`,
  'archive-missing-file': {
    entry: (path: string) => `The ZIP file does not contain “${path}”. Add the file, and send the ZIP file again.`,
    needed: (path: string) =>
      `The model needs “${path}”, but the ZIP file does not contain it. Add the file, and send the ZIP file again.`,
  },
  'archive-no-model': (models: number) =>
    `A ZIP file must contain exactly one .gltf, but this one contains ${models}. Add only one model.`,
  'unknown-revision': (revision: number) =>
    `The model of this product has no revision ${revision}. Choose one of its revisions.`,
} as const satisfies ProblemTexts;

/** Texts about repairs, preparations and the variants that a model contains. */
export const REPAIR_PROBLEMS = {
  'no-variants-to-take': {
    none: (product: string) => `The model of ${product} contains no variants to import. Write its schedule instead.`,
    unchanging: (product: string) =>
      `The model of ${product} contains no variants to import: none of its variants changes a material. Write its schedule instead.`,
  },
  'schedule-in-the-way': (product: string, variants: number) =>
    `${product} already has a schedule of ${count(variants, 'variant')}. Confirm that the variants of the model replace it, or keep the schedule.`,
  'nothing-to-replay':
    'The preparation has no steps, and the model is as it was received. Make a repair, or save a list of steps.',
  'repair-unfit': {
    unexpected: (repair: string) =>
      `${repair}: the model contains something that this repair cannot handle, so Dyeworks changed nothing. Leave the repair out.`,
    ofRepair: (repair: string, reason: string) => `${repair}: ${reason}`,
  },
  'repair-would-lose': (losses: readonly string[]) =>
    `The repair would lose ${losses.join(', ')}. Accept this loss, or leave the repair out.`,
  'invalid-repair': {
    unknownName: 'There is no repair with this name. Use one of the listed names.',
    scaleTarget: 'A scale repair needs either a factor or a target height. Give one of them.',
    pieceTwice: (piece: string) => `The groups contain the piece ${piece} twice. Keep it once.`,
    piecesOrMaterials:
      'This repair turns either pieces or materials outward, but both are given. Keep one; leave both out for the whole model.',
    nameLikePointer: 'A name cannot start with /materials/, because such text is a pointer. Choose another name.',
    reference: (kind: string, example: string) =>
      `This is not a reference to a ${kind}. Give its name or its pointer, such as ${example}.`,
    pieceId: 'The identifier of a piece or shape must have twelve hexadecimal digits. Copy it from the survey.',
    partName: 'This is not a name of a part. Give the name of its node or mesh in the model.',
    groupTwice: (name: string) => `Two groups have the name “${name}”. Give each its own name.`,
    renamingTwice: (name: string) => `The list renames the material “${name}” twice. Keep one entry.`,
    notAList: (low: number, high: number, items: string) =>
      `This field must be a list of ${low} to ${high} ${items}. Correct the list.`,
    notAnObject: (what: string) => `${what} must be an object. Correct its value.`,
    unknownField: (what: string, field: string) => `${what} of this kind has no field “${field}”. Leave it out.`,
    field: (what: string, field: string, expected: string) =>
      `${what} needs “${field}” to be ${expected}. Correct its value.`,
  },
  'repair-broke-model': (codes: string, first: string | null) =>
    `The repair would add glTF validator errors (${codes}${first === null ? '' : `: ${first}`}), so Dyeworks changed nothing. Leave out the repair that causes them, and report it to the developers of Dyeworks.`,
  'stale-model': (now: number | null, meant: number | null) =>
    `The model ${now === null ? 'has no revision' : `is now at revision ${now}`}, but this change was made for ${
      meant === null ? 'a product without a model' : `revision ${meant}`
    }. Look at the current model, then repeat the change.`,
} as const satisfies ProblemTexts;
