import { useSignalEffect } from '@preact/signals';
import { seg } from '../../../api.ts';
import { formatBytes } from '../../../format.ts';
import { Field, Notice, Select } from '../../../parts/form.tsx';
import { deliveryFileTexts as texts } from '../../../texts/delivery-files.ts';
import type { BundlePart, FilesModel } from './files-model.ts';
import { Download, Form } from './form-line.tsx';
import { UsdForms } from './usd-forms.tsx';

const BUNDLE_PARTS: readonly BundlePart[] = ['model', 'variants', 'parts', 'samples', 'usdz', 'usd', 'feed'];

/** The files of the newest delivery: each form with what it loses, its size and its download. */
export function FilesSection({ model }: { readonly model: FilesModel }) {
  const { newest, problem, delivery } = model;
  return (
    <details
      class="fold no-print"
      onToggle={(event) => {
        if (event.currentTarget.open) void model.load();
      }}
    >
      <summary>
        <h3>{texts.heading(newest.value ?? 0)}</h3>
      </summary>
      <Reload model={model} />
      <Notice text={problem.value} />
      {delivery.value && delivery.value.delivery === newest.value && <Forms model={model} />}
    </details>
  );
}

/** A delivery that is made while the list is open takes its place. */
function Reload({ model }: { readonly model: FilesModel }) {
  useSignalEffect(() => {
    if (model.delivery.value && model.newest.value !== model.delivery.value.delivery) void model.load();
  });
  return null;
}

function Forms({ model }: { readonly model: FilesModel }) {
  return (
    <div class="forms">
      <WholeFile model={model} />
      <OneVariant model={model} />
      <SomeVariants model={model} />
      <SplitFiles model={model} />
      <UsdForms
        path={model.path.value}
        files={model.delivery.value!.files}
        variants={model.variants.value}
        standard={model.manifest.value!.default}
      />
      <Samples model={model} />
      <Feeds path={model.path.value} />
      <Bundle model={model} />
    </div>
  );
}

function WholeFile({ model }: { readonly model: FilesModel }) {
  const { name, note } = texts.all;
  const { bytes, model: href } = model.delivery.value!;
  return <Form name={name} note={note} bytes={bytes} download={<Download href={href} of={name} />} />;
}

function OneVariant({ model }: { readonly model: FilesModel }) {
  const { name, note, pick } = texts.one;
  const code = model.one.value ?? model.manifest.value!.default;
  const href = `${model.path.value}/variants/${seg(code)}.glb`;
  return (
    <Form name={name} note={note} download={<Download href={href} of={code} />}>
      <Field inline name={pick}>
        <Select
          label={pick}
          value={code}
          options={model.variants.value.map((variant) => [variant.code, `${variant.name} (${variant.code})`])}
          onPick={(picked) => {
            model.one.value = picked;
          }}
        />
      </Field>
    </Form>
  );
}

function SomeVariants({ model }: { readonly model: FilesModel }) {
  const { name, note, filter, more, chosen, tooMany } = texts.some;
  const { shown, more: hidden } = model.found.value;
  const { size } = model.chosen.value;
  const href = `${model.path.value}/model.glb?variants=${encodeURIComponent(model.chosenQuery.value)}`;
  const ready = size > 0 && !model.isTooLong.value;
  return (
    <Form name={name} note={note} download={ready && <Download href={href} of={texts.variants(size)} />}>
      <Field inline name={filter}>
        <input
          type="search"
          value={model.filter.value}
          onInput={(event) => {
            model.filter.value = event.currentTarget.value;
          }}
        />
      </Field>
      <fieldset class="ticks">
        <legend class="unseen">{name}</legend>
        {shown.map((variant) => (
          <label class="tick" key={variant.code}>
            <input
              type="checkbox"
              checked={model.chosen.value.has(variant.code)}
              onChange={() => model.toggleChosen(variant.code)}
            />
            <span dir="auto">{`${variant.name} (${variant.code})`}</span>
          </label>
        ))}
      </fieldset>
      {hidden > 0 && <p class="small soft">{more(hidden)}</p>}
      <p class="small soft" role="status">
        {model.isTooLong.value ? tooMany : chosen(size)}
      </p>
    </Form>
  );
}

function SplitFiles({ model }: { readonly model: FilesModel }) {
  const { name, note, by, kinds, slot, everySlot, split } = texts.parts;
  const parts = model.parts.value;
  return (
    <Form name={name} note={note}>
      <div class="actions">
        <Field inline name={by}>
          <Select
            label={by}
            value={model.splitBy.value}
            options={[
              ['article', kinds.article],
              ['grade', kinds.grade],
            ]}
            onPick={(picked) => {
              model.splitBy.value = picked;
            }}
          />
        </Field>
        <Field inline name={slot}>
          <Select
            label={slot}
            value={model.slot.value}
            options={[['', everySlot], ...model.slots.value.map((one) => [one.slot, one.slot] as const)]}
            onPick={(picked) => {
              model.slot.value = picked;
            }}
          />
        </Field>
        <button
          type="button"
          aria-disabled={model.busy.value ? 'true' : undefined}
          onClick={() => {
            if (!model.busy.value) void model.split();
          }}
        >
          {split}
        </button>
      </div>
      {parts.length > 0 && (
        <ul class="parts">
          {parts.map(({ form, path, bytes, details }) => (
            <li key={form}>
              <span dir="auto">{describeGroups(details?.groups)}</span>
              <span class="small soft">{texts.variants(Number(details?.variants))}</span>
              <span class="figure">{bytes === undefined ? texts.unknownSize : formatBytes(bytes)}</span>
              <Download href={path} of={describeGroups(details?.groups)} />
            </li>
          ))}
        </ul>
      )}
    </Form>
  );
}

function describeGroups(groups: unknown): string {
  const entries = Object.entries((groups ?? {}) as Readonly<Record<string, string | null>>);
  return entries.map(([slot, group]) => texts.parts.group(slot, group)).join(', ');
}

function Samples({ model }: { readonly model: FilesModel }) {
  const { name, note } = texts.samples;
  const file = model.delivery.value!.files.find(({ form }) => form === 'samples.glb');
  if (!file) return null;
  return <Form name={name} note={note} bytes={file.bytes ?? null} download={<Download href={file.path} of={name} />} />;
}

function Feeds({ path }: { readonly path: string }) {
  const { name, note, csv, json, jsonld } = texts.feed;
  return (
    <Form name={name} note={note}>
      <div class="actions">
        <Download href={`${path}/feed.csv?bom=1`} of={name} text={csv} />
        <Download href={`${path}/feed.json`} of={name} text={json} />
        <Download href={`${path}/feed.jsonld`} of={name} text={jsonld} />
      </div>
    </Form>
  );
}

function Bundle({ model }: { readonly model: FilesModel }) {
  const { name, note, parts } = texts.bundle;
  const picked = BUNDLE_PARTS.filter((part) => model.bundle.value.has(part));
  const href = `${model.path.value}/bundle.zip?forms=${picked.join(',')}`;
  return (
    <Form name={name} note={note} download={picked.length > 0 && <Download href={href} of={name} text={texts.zip} />}>
      <fieldset class="ticks">
        <legend class="unseen">{name}</legend>
        {BUNDLE_PARTS.filter((part) => part !== 'parts' || model.parts.value.length > 0).map((part) => (
          <label class="tick" key={part}>
            <input type="checkbox" checked={model.bundle.value.has(part)} onChange={() => model.toggleBundle(part)} />
            {parts[part]}
          </label>
        ))}
      </fieldset>
    </Form>
  );
}
