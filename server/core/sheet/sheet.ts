import type { ColourCard } from './plan-colour-card.ts';
import type { CompactSchedule, ScheduleSheet } from './plan-schedule.ts';

/** Something to print, laid out to the millimetre. */
export type Sheet = ColourCard | ScheduleSheet | CompactSchedule;

/** Pictures that stand on a sheet, as JPEG files, by the keys the sheet names them with. */
export type SheetPictures = Readonly<Record<string, Uint8Array>>;
