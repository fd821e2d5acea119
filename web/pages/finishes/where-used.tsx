import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import type { WhereUsedAnswer } from '../../../server/http/contracts/line.ts';
import { get, getErrorMessage, seg } from '../../api.ts';
import { count, formatKey } from '../../format.ts';
import { Notice } from '../../parts/notice.tsx';

/** Lines, schedules, deliveries and other finishes that name the finish. */
export function WhereUsed({ finish, revision }: { readonly finish: string; readonly revision: number }) {
  const answer = useSignal<WhereUsedAnswer | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    get<WhereUsedAnswer>(`/api/finishes/${seg(finish)}/where-used`).then(
      (found) => {
        answer.value = found;
        trouble.value = null;
      },
      (error) => {
        trouble.value = getErrorMessage(error);
      },
    );
  }, [finish, revision]);
  const used = answer.value;
  return (
    <section class="uses">
      <h3>Where it is used</h3>
      <Notice text={trouble.value} />
      {used && <Uses used={used} />}
    </section>
  );
}

function Uses({ used }: { readonly used: WhereUsedAnswer }) {
  const { lines, schedules, deliveries, companionOf } = used;
  if (lines.length + schedules.length + deliveries.length + companionOf.length === 0) {
    return <p class="soft">Nowhere: it may be changed or removed without touching anything else.</p>;
  }
  return (
    <dl class="facts">
      {lines.map((line) => (
        <Row key={line.line} name="Line">
          <a href={`/lines/${seg(line.line)}`}>{line.name}</a>: {describeLine(line)}
        </Row>
      ))}
      {schedules.map(({ product, variants }) => (
        <Row key={product} name="Schedule">
          <a href={`/products/${seg(product)}`}>{product}</a>, {count(variants, 'variant')}
        </Row>
      ))}
      {groupDeliveries(deliveries).map(([product, numbers]) => (
        <Row key={product} name="Delivery">
          <a href={`/products/${seg(product)}`}>{product}</a>, no. {numbers.join(', ')}
        </Row>
      ))}
      {companionOf.map((what) => (
        <Row key={`${what.finish} ${what.article}`} name="Follows">
          {what.finish ?? `the article ${what.article}`} at {what.positions.join(', ')}
        </Row>
      ))}
    </dl>
  );
}

function Row({ name, children }: { readonly name: string; readonly children: ComponentChildren }) {
  return (
    <>
      <dt>{name}</dt>
      <dd>{children}</dd>
    </>
  );
}

function describeLine({ status, positions, rules, replaces }: WhereUsedAnswer['lines'][number]): string {
  return [
    status === null ? 'not in its range' : formatKey(status).toLowerCase(),
    positions.length > 0 && `named at ${positions.join(', ')}`,
    replaces.length > 0 && `replaces ${replaces.join(', ')}`,
    ...rules.map((rule) => rule.replace(/\.$/, '')),
  ]
    .filter(Boolean)
    .join('; ');
}

function groupDeliveries(deliveries: WhereUsedAnswer['deliveries']): [string, number[]][] {
  const byProduct = new Map<string, number[]>();
  for (const { product, delivery } of deliveries) {
    byProduct.set(product, [...(byProduct.get(product) ?? []), delivery]);
  }
  return [...byProduct];
}
