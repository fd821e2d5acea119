import type { FinishAnswer } from '../../../../../server/http/contracts/finish.ts';
import type { SlotAnswer } from '../../../../../server/http/contracts/product.ts';
import { formatKey } from '../../../../format.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import { findFinishes } from './read-finish.ts';

/** A finish that the picker offers. */
export interface Offer {
  readonly finish: FinishAnswer;
  /** Article, grade, and a status other than current. */
  readonly details: string;
  readonly title: string;
}

export interface OfferGroup {
  readonly title: string;
  readonly offers: readonly Offer[];
}

/**
 * The finishes of a slot that match a text. Without one: those used last, then all by family and grade in the order of the
 * range. With one: the closest first.
 */
export function listOffers(
  slot: Pick<SlotAnswer, 'allowed'>,
  getFinish: (code: string) => FinishAnswer | undefined,
  text: string,
  recent: readonly string[],
): OfferGroup[] {
  const offers = new Map<string, Offer>();
  for (const { finish: code, grade, status } of slot.allowed) {
    const finish = getFinish(code);
    if (!finish) continue;
    const details = [
      finish.article,
      grade !== null && texts.grade(grade),
      status !== 'current' && formatKey(status).toLowerCase(),
    ];
    const title = texts.family(formatKey(finish.family), grade);
    offers.set(finish.finish, { finish, details: details.filter(Boolean).join(', '), title });
  }
  const all = [...offers.values()];
  if (text.trim() !== '') {
    const found = findFinishes(
      all.map(({ finish }) => finish),
      text,
    ).map(({ finish }) => offers.get(finish)!);
    return found.length === 0 ? [] : [{ title: texts.finishes, offers: found }];
  }
  const groups = new Map<string, Offer[]>();
  for (const offer of all) groups.set(offer.title, [...(groups.get(offer.title) ?? []), offer]);
  const last = recent.flatMap((code) => offers.get(code) ?? []);
  return [
    ...(last.length > 0 ? [{ title: texts.recent, offers: last }] : []),
    ...[...groups].map(([title, group]) => ({ title, offers: group })),
  ];
}
