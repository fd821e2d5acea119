import type { Change, Stamp } from '../../server/core/history/history.ts';

/** Person and time, for tests that do not depend on them. */
export const STAMP: Stamp = { at: '2031-05-06T07:08:09.000Z', person: 'Ada' };
export const SAVED: Change = { ...STAMP, how: 'saved' };
