import { useMemo } from 'preact/hooks';
import {
  type FormLoss,
  GEOMETRY_FORMS,
  type GeometryForm,
  TEXTURE_FORMS,
  type TextureForm,
} from '../../../../server/core/delivery/compressed-form.ts';
import type { DeliveryAnswer } from '../../../../server/http/contracts/delivery.ts';
import type { WeightAnswer } from '../../../../server/http/contracts/delivery-weight.ts';
import { formatBytes, formatSignificant } from '../../../format.ts';
import { Field, Notice, Select } from '../../../parts/form.tsx';
import { isOpenJob } from '../../../parts/jobs.ts';
import { weightTexts as texts } from '../../../texts/delivery-weight.ts';
import type { ProductModel } from '../product-model.ts';
import { createWeightModel } from './weight-model.ts';

/** Finishes in the table; the others add less. */
const MOST_FINISHES = 12;

/** What the newest delivery weighs, and its compressed files. */
export function WeightSection({ model, delivery }: { readonly model: ProductModel; readonly delivery: number }) {
  const own = useMemo(() => createWeightModel(model.code), [model.code]);
  const { weight, geometry, textures, form, job, problem, files } = own;
  const running = job.value !== null && isOpenJob(job.value.state);
  const losses = [geometry.value, textures.value].flatMap((name) => (name === 'none' ? [] : texts.losses[name]));
  return (
    <details class="weight fold" onToggle={(event) => event.currentTarget.open && void own.show(delivery)}>
      <summary>
        <h3>{texts.heading}</h3>
      </summary>
      {weight.value && <WeightTables weight={weight.value} />}
      {files.value.length > 0 && <FormTable files={files.value} />}
      <div class="actions no-print">
        <Field inline name={texts.geometry}>
          <Select<GeometryForm | 'none'>
            label={texts.geometry}
            value={geometry.value}
            options={(['none', ...GEOMETRY_FORMS] as const).map((name) => [name, texts.geometryForms[name]])}
            onPick={(name) => {
              geometry.value = name;
            }}
          />
        </Field>
        <Field inline name={texts.textures}>
          <Select<TextureForm | 'none'>
            label={texts.textures}
            value={textures.value}
            options={(['none', ...TEXTURE_FORMS] as const).map((name) => [name, texts.textureForms[name]])}
            onPick={(name) => {
              textures.value = name;
            }}
          />
        </Field>
        <button
          type="button"
          disabled={form.value === ''}
          aria-disabled={running ? 'true' : undefined}
          onClick={() => {
            if (!running) void own.make(model.deliveries.names.value, model.deliveries.load);
          }}
        >
          {texts.make}
        </button>
      </div>
      <p class="soft">{[...losses, texts.standing].join(' ')}</p>
      <Notice text={problem.value ?? describeJob(job.value)} />
    </details>
  );
}

function describeJob(job: ReturnType<typeof createWeightModel>['job']['value']): string | null {
  if (!job) return null;
  if (isOpenJob(job.state)) return texts.making(job.done, job.total);
  return job.failed > 0 ? texts.failed(job.failures[0] ?? '') : texts.made;
}

function WeightTables({ weight }: { readonly weight: WeightAnswer }) {
  const { bytes, groups, finishes, delivery } = weight;
  const rows = (Object.keys(texts.groups) as (keyof typeof groups)[]).filter((group) => groups[group] > 0);
  const heaviest = finishes.slice(0, MOST_FINISHES);
  return (
    <>
      <div class="scroll">
        <table>
          <caption class="unseen">{texts.caption(delivery)}</caption>
          <thead>
            <tr>
              <th scope="col">{texts.columns.part}</th>
              <th scope="col" class="figure">
                {texts.columns.size}
              </th>
              <th scope="col">{texts.columns.share}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((group) => (
              <tr key={group}>
                <th scope="row">{texts.groups[group]}</th>
                <td class="figure">{formatBytes(groups[group])}</td>
                <td>
                  <Bar share={groups[group] / bytes} />
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div class="scroll">
        <table>
          <caption class="unseen">{texts.finishes}</caption>
          <thead>
            <tr>
              <th scope="col">{texts.finishColumns.finish}</th>
              <th scope="col" class="figure">
                {texts.finishColumns.adds}
              </th>
              <th scope="col" class="figure">
                {texts.finishColumns.shared}
              </th>
            </tr>
          </thead>
          <tbody>
            {heaviest.map(({ finish, name, adds, shared }) => (
              <tr key={finish}>
                <th scope="row">
                  <bdi>{name}</bdi>
                </th>
                <td class="figure">{formatBytes(adds)}</td>
                <td class="figure">{formatBytes(shared)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {finishes.length > MOST_FINISHES && <p class="soft">{texts.moreFinishes(finishes.length - MOST_FINISHES)}</p>}
    </>
  );
}

/** A share from 0 to 1, as a bar and in per cent. */
function Bar({ share }: { readonly share: number }) {
  return (
    <span class="share">
      <span class="bar" aria-hidden="true" style={{ inlineSize: `${share * 8}rem` }} />
      {`${formatSignificant(share * 100, 2)} %`}
    </span>
  );
}

function FormTable({ files }: { readonly files: DeliveryAnswer['files'] }) {
  return (
    <div class="scroll">
      <table>
        <thead>
          <tr>
            <th scope="col">{texts.files.form}</th>
            <th scope="col" class="figure">
              {texts.files.size}
            </th>
            <th scope="col">{texts.files.loss}</th>
          </tr>
        </thead>
        <tbody>
          {files.map(({ form, path, bytes, details }) => {
            const name = form.replace(/^forms\/|\.glb$/g, '');
            return (
              <tr key={form}>
                <th scope="row">
                  <a class="button" href={path} download={`${name}.glb`}>
                    {texts.download}
                    <span class="unseen">{texts.ofForm(name)}</span>
                  </a>{' '}
                  {name}
                </th>
                <td class="figure">{formatBytes(bytes ?? 0)}</td>
                <td>{describeLoss(details?.loss as FormLoss | undefined)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

function describeLoss(loss: FormLoss | undefined): string {
  const { geometry = null, textures = [] } = loss ?? {};
  const worst = Math.max(...textures.map(({ deltaE }) => deltaE?.percentile95 ?? -1));
  return [
    ...(geometry ? [texts.positions(formatSignificant(geometry.positionMm, 2))] : []),
    ...(geometry ? [texts.normals(formatSignificant(geometry.normalDegrees, 2))] : []),
    ...(worst >= 0 ? [texts.colours(formatSignificant(worst, 2))] : []),
  ].join(', ');
}
