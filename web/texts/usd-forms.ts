/** Texts of the forms in USD on the sheet “Deliver”. */
export const usdTexts = {
  get: 'USDZ',
  one: {
    name: 'One variant for a room (AR)',
    note: 'Shading that AR viewers lack, such as sheen and refraction, motion, and textures above 2048 pixels.',
    pick: 'Variant in the room',
  },
  all: {
    name: 'All variants in USD',
    note: 'The same. Each slot is a variant set, and the schedule is another. Few AR viewers can switch variants; use it in pipelines.',
  },
  materials: (names: readonly string[]) => `(${names.join(', ')})`,
} as const;
