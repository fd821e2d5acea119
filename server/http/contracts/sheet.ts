import { type Static, Type } from 'typebox';
import { BLEEDS_MM, type BleedMm, PAPERS } from '../../core/sheet/paper.ts';
import { strict } from './common.ts';

const format = {
  paper: Type.Optional(Type.Enum(Object.keys(PAPERS) as (keyof typeof PAPERS)[], { description: 'a4 when absent' })),
  bleedMm: Type.Optional(
    Type.Enum(BLEEDS_MM.map(String) as `${BleedMm}`[], {
      description: 'Printed beyond the edge, to be trimmed; 0 when absent',
    }),
  ),
};
const pictures = Type.Optional(Type.Enum(['0', '1'], { description: 'A picture of each row; 1 when absent' }));

export const SheetQuery = Type.Object(format, strict);
export type SheetQuery = Static<typeof SheetQuery>;

export const ColourCardQuery = Type.Object(
  {
    ...format,
    panels: Type.Optional(
      Type.Enum(['0', '1'], {
        description: 'Patterned finishes as pieces at true scale; 1 when absent, 0: as the flat colour',
      }),
    ),
  },
  strict,
);
export type ColourCardQuery = Static<typeof ColourCardQuery>;

export const RowSheetQuery = Type.Object({ ...format, pictures }, strict);
export type RowSheetQuery = Static<typeof RowSheetQuery>;

export const CheckSetSheetQuery = Type.Object(
  { ...format, pictures, kind: Type.Optional(Type.Enum(['each-finish', 'pairs'])) },
  strict,
);
export type CheckSetSheetQuery = Static<typeof CheckSetSheetQuery>;
