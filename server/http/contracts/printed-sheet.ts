import { type Static, Type } from 'typebox';
import { BLEEDS_MM, type BleedMm, PAPERS } from '../../core/sheet/page.ts';
import { SCHEDULE_FORMS } from '../../core/sheet/plan-schedule.ts';
import { CheckSetKind } from './schedule.ts';
import { Flag, strict } from './schema-parts.ts';

const format = {
  paper: Type.Optional(Type.Enum(Object.keys(PAPERS) as (keyof typeof PAPERS)[], { description: 'Default a4' })),
  bleedMm: Type.Optional(
    Type.Enum(BLEEDS_MM.map(String) as `${BleedMm}`[], {
      description: 'Printed beyond the edge, to be cut off. Default 0, with press=1 3',
    }),
  ),
  press: Type.Optional({
    ...Flag,
    description: '1: PDF/X-4 (ISO 15930-7) for a printer, with sRGB as output intent. Default 0',
  }),
};
const rows = {
  pictures: Type.Optional({ ...Flag, description: 'A picture of each variant. Default 1' }),
  form: Type.Optional(
    Type.Enum(SCHEDULE_FORMS, {
      description: 'detailed (default): a row for each variant. compact: four columns, thirty variants on a page',
    }),
  ),
};

export const SheetQuery = Type.Object(format, strict);
export type SheetQuery = Static<typeof SheetQuery>;

export const ColourCardQuery = Type.Object(
  {
    ...format,
    panels: Type.Optional({
      ...Flag,
      description: '1 (default): patterned finishes at true scale, and metals lit. 0: flat colours only',
    }),
  },
  strict,
);
export type ColourCardQuery = Static<typeof ColourCardQuery>;

export const RowSheetQuery = Type.Object({ ...format, ...rows }, strict);
export type RowSheetQuery = Static<typeof RowSheetQuery>;

export const CheckSetSheetQuery = Type.Object({ ...format, ...rows, kind: Type.Optional(CheckSetKind) }, strict);
export type CheckSetSheetQuery = Static<typeof CheckSetSheetQuery>;
