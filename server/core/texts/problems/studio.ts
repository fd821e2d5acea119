import type { ProblemTexts } from './problem-text.ts';

/** Texts of the page in the browser that draws the pictures. */
export const STUDIO_PROBLEMS = {
  'renderer-failed': {
    noMaterial: (material: number) => `The studio file has no material ${material}. Report this to us.`,
    emptyKit: 'The finish kit contains no material. Report this to us.',
    layersOfTransparent:
      'A part lets light through, so this product cannot be drawn in layers. Ask for whole pictures.',
    shader: (part: string) =>
      `The graphics driver cannot draw ${part}: its shader failed, and the log has details. Use fewer maps, or update the browser or the graphics driver.`,
  },
  'picture-too-many-maps': (part: string, textures: number, limit: number) =>
    `The graphics driver cannot draw ${part}: it needs ${textures} textures at once, and ${limit} are possible. Remove maps of its extra layers (coat, sheen, iridescence), or make the pictures on another machine.`,
  'picture-too-large': (sidePx: number, pixels: number) =>
    `A part lets light through, so the picture must be drawn in one piece, with at most ${sidePx} px a side and ${pixels} pixels in all. Ask for a smaller one.`,
  'picture-nothing-to-see': {
    hidden: 'Other parts hide these parts from every side, so no view shows them. Choose other parts.',
    noVertices: 'The parts to look at contain no geometry. Choose other parts.',
    notFinite: 'No triangle of the model has a finite position, so there is nothing to show. Export the model again.',
    noTriangles: 'The scene of the model contains no triangles. Export it with its meshes in the scene.',
  },
  'picture-geometry-unreadable': (first: string) =>
    `No part of the model can be read. The first fault: ${first} Export the model again, or ask the supplier for another file.`,
  'picture-map-unreadable': (map: string, fault: string) =>
    `A map of the finish (${map}) cannot be shown: ${fault} Upload it again, or use another one.`,
} as const satisfies ProblemTexts;
