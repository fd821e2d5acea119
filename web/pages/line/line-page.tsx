import { useEffect, useMemo } from 'preact/hooks';
import { includesRole } from '../../../server/core/access/role.ts';
import { seg } from '../../api.ts';
import { RefusedChange } from '../../parts/conflict.tsx';
import { EditText, Notice } from '../../parts/form.tsx';
import { PictureJob } from '../../parts/picture-job.tsx';
import { SheetLinks } from '../../parts/sheet-links.tsx';
import { Heading } from '../../parts/shell.tsx';
import { navigate } from '../../router.ts';
import { caller } from '../../session.ts';
import { archiveTexts } from '../../texts/archive.ts';
import { commonTexts } from '../../texts/common.ts';
import { lineTexts as texts } from '../../texts/line.ts';
import { createLineModel, type LineModel } from './line-model.ts';
import { LineProducts } from './line-products.tsx';
import { PositionTable } from './position-table.tsx';
import { RangeTable } from './range/range-table.tsx';
import { RulesSection } from './rules/rules-section.tsx';
import { VariantApprovals } from './variant-approvals.tsx';

/** A line: its products, positions, range, rules and pictures. */
export function LinePage({ code }: { readonly code: string }) {
  const model = useMemo(() => createLineModel(code), [code]);
  useEffect(() => {
    void model.load();
    return () => model.pictures.close();
  }, [model]);
  const line = model.line.value;
  return (
    <>
      <div class="title-line">
        <Heading text={line?.name ?? code} titlePrefix={texts.line} />
        <p class="soft small" role="status">
          {model.outcome.value}
        </p>
      </div>
      {/* an open row shows the message itself, where the user is looking */}
      <Notice text={model.open.value === null ? model.problem.value : null} />
      {line && (
        <>
          <dl class="title-block">
            <div style={{ '--span': 3 }}>
              <dt>{commonTexts.code}</dt>
              <dd class="code strong">{line.line}</dd>
            </div>
            <div style={{ '--span': 9 }}>
              <dt>{commonTexts.name}</dt>
              <dd>
                <EditText
                  label={commonTexts.name}
                  value={line.name}
                  onCommit={(name) => void model.edit((now) => ({ ...now, name }))}
                />
              </dd>
            </div>
          </dl>
          <LineProducts model={model} />
          <PositionTable model={model} />
          <RangeTable model={model} />
          <SheetLinks label={texts.colourCard} address={`/api/lines/${seg(line.line)}/colour-card.pdf`} />
          <RulesSection model={model} />
          <VariantApprovals model={model} />
          <LinePictures model={model} />
          <ExportLine line={line.line} />
          {model.products.value.length === 0 && (
            <div class="no-print">
              <RefusedChange changes={model.deletion} />
              <p>
                <button type="button" onClick={() => void model.remove(() => navigate('/'))}>
                  {texts.deleteLine}
                </button>{' '}
                <span class="soft">{texts.noProducts}</span>
              </p>
            </div>
          )}
        </>
      )}
    </>
  );
}

/** Only owners may export: the archive has the audit of the line. */
function ExportLine({ line }: { readonly line: string }) {
  if (!caller.value || !includesRole(caller.value.role, 'owner')) return null;
  return (
    <p class="no-print">
      <a href={`/api/lines/${seg(line)}/archive.zip`} download>
        {archiveTexts.export}
      </a>{' '}
      <span class="soft">{archiveTexts.exportNote}</span>
    </p>
  );
}

/** Makes the pictures of all products of the line, as one job. */
function LinePictures({ model }: { readonly model: LineModel }) {
  const { pictures, products } = model;
  useEffect(() => void pictures.find(), [pictures]);
  if (products.value.length === 0) return null;
  const isReady = products.value.some(({ model: hasModel, variants }) => hasModel !== null && variants > 0);
  const names = new Map(products.value.map(({ code, name }) => [code, name]));
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.pictures.heading}</h2>
        <p class="small">{isReady ? texts.pictures.note : texts.pictures.notReady}</p>
      </div>
      <PictureJob
        model={pictures}
        button={texts.pictures.makeAll}
        disabled={!isReady}
        onStart={() => void pictures.start()}
        name={({ product, variant }) => texts.pictures.caption(names.get(product) ?? product, variant)}
      />
    </section>
  );
}
