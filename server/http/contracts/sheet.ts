import { type Static, Type } from 'typebox';
import { BLEEDS_MM, type BleedMm, PAPERS } from '../../core/sheet/paper.ts';
import { SCHEDULE_FORMS } from '../../core/sheet/schedule-source.ts';
import { strict } from './common.ts';

const format = {
  paper: Type.Optional(Type.Enum(Object.keys(PAPERS) as (keyof typeof PAPERS)[], { description: 'a4 when absent' })),
  bleedMm: Type.Optional(
    Type.Enum(BLEEDS_MM.map(String) as `${BleedMm}`[], {
      description: 'Printed beyond the edge, to be trimmed; 0 when absent, for press 3',
    }),
  ),
  press: Type.Optional(
    Type.Enum(['0', '1'], { description: '1: PDF/X-4 (ISO 15930-7) for a printer, output intent sRGB; 0 when absent' }),
  ),
};
const rows = {
  pictures: Type.Optional(Type.Enum(['0', '1'], { description: 'A picture of each variant; 1 when absent' })),
  form: Type.Optional(
    Type.Enum(SCHEDULE_FORMS, {
      description: 'detailed, when absent: a row for each variant; compact: four abreast, thirty to a page',
    }),
  ),
};

export const SheetQuery = Type.Object(format, strict);
export type SheetQuery = Static<typeof SheetQuery>;

export const ColourCardQuery = Type.Object(
  {
    ...format,
    panels: Type.Optional(
      Type.Enum(['0', '1'], {
        description: 'Patterned finishes as pieces at true scale, metals lit; 1 when absent, 0: flat colours only',
      }),
    ),
  },
  strict,
);
export type ColourCardQuery = Static<typeof ColourCardQuery>;

export const RowSheetQuery = Type.Object({ ...format, ...rows }, strict);
export type RowSheetQuery = Static<typeof RowSheetQuery>;

export const CheckSetSheetQuery = Type.Object(
  { ...format, ...rows, kind: Type.Optional(Type.Enum(['each-finish', 'pairs'])) },
  strict,
);
export type CheckSetSheetQuery = Static<typeof CheckSetSheetQuery>;
