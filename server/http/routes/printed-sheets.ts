import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { printCheckSet, printColourCard, printSchedule, type RowForm } from '../../actions/print-sheets.ts';
import type { BleedMm, SheetFormat } from '../../core/sheet/page.ts';
import { callerSignal } from '../caller-signal.ts';
import { CheckSetSheetQuery, ColourCardQuery, RowSheetQuery, type SheetQuery } from '../contracts/printed-sheet.ts';
import { bytes } from '../responses.ts';
import { sendBytes } from '../send-bytes.ts';

const TAGS = { tags: ['printed sheets'] };
const PDF = bytes('application/pdf');

/** Printed sheets, as PDF. */
export function addPrintedSheetRoutes(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { line: string }; Querystring: ColourCardQuery }>(
    '/api/lines/:line/colour-card.pdf',
    {
      schema: {
        ...TAGS,
        summary: 'Print the colour card of a line: the finishes on sale, by article and grade',
        querystring: ColourCardQuery,
        response: PDF,
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      const sheet = await printColourCard(context, params.line, toFormat(query), query.panels !== '0');
      return sendBytes(request, reply, sheet.bytes, sheet);
    },
  );

  app.get<{ Params: { product: string }; Querystring: RowSheetQuery }>(
    '/api/products/:product/schedule.pdf',
    {
      schema: {
        ...TAGS,
        summary: 'Print the finish schedule of a product, with a picture of each variant',
        querystring: RowSheetQuery,
        response: PDF,
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      const sheet = await printSchedule(context, params.product, toFormat(query), toForm(query));
      return sendBytes(request, reply, sheet.bytes, sheet);
    },
  );

  app.get<{ Params: { product: string }; Querystring: CheckSetSheetQuery }>(
    '/api/products/:product/schedule/check-set.pdf',
    {
      schema: {
        ...TAGS,
        summary: 'Print a check set: the few variants that show every finish or every allowed pair',
        querystring: CheckSetSheetQuery,
        response: PDF,
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      const { kind = 'each-finish' } = query;
      const sheet = await printCheckSet(
        context,
        params.product,
        kind,
        toFormat(query),
        toForm(query),
        callerSignal(reply),
      );
      return sendBytes(request, reply, sheet.bytes, sheet);
    },
  );
}

/** For press, the bleed is 3 mm by default. */
const toFormat = ({ paper = 'a4', press = '0', bleedMm = press === '1' ? '3' : '0' }: SheetQuery): SheetFormat => ({
  paper,
  bleedMm: Number(bleedMm) as BleedMm,
  press: press === '1',
});

const toForm = ({ form = 'detailed', pictures = '1' }: RowSheetQuery): RowForm => ({
  form,
  pictures: pictures === '1',
});
