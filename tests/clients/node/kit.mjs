// How does fhir-kit-client do what it is told?

import { Client } from "fhir-kit-client";
import { speak } from "./speak.mjs";

const { FHIR_BASE: baseUrl, FHIR_KEY: bearerToken } = process.env;
const client = new Client({ baseUrl, bearerToken });

async function pages({ resourceType, searchParams, post }) {
  const options = { postSearch: post };
  const found = [await client.search({ resourceType, searchParams, options })];
  for (let next; (next = client.nextPage({ bundle: found.at(-1) })); ) found.push(await next);
  return found;
}

function described(document) {
  const { response } = Client.httpFor(document);
  const headers = Object.fromEntries(response.headers.entries());
  return { status: response.status, headers, document };
}

await speak(
  {
    metadata: () => client.capabilityStatement(),
    read: ({ resourceType, id }) => client.read({ resourceType, id }),
    vread: ({ resourceType, id, version }) => client.vread({ resourceType, id, version }),
    history: ({ resourceType, id }) => client.history({ resourceType, id }),
    resolve: ({ reference, context }) => client.resolve({ reference, context }),
    pages,
    create: async ({ body }) => described(await client.create({ resourceType: body.resourceType, body })),
    update: ({ body, headers }) =>
      client.update({ resourceType: body.resourceType, id: body.id, body, options: { headers } }),
    update_where: async ({ body, searchParams, headers }) =>
      described(
        await client.update({ resourceType: body.resourceType, searchParams, body, options: { headers } }),
      ),
    transaction: ({ body }) => client.transaction({ body }),
    batch: ({ body }) => client.batch({ body }),
    operation: ({ name, resourceType, input }) => client.operation({ name, resourceType, input }),
    patch: ({ resourceType, id, jsonPatch }) => client.patch({ resourceType, id, jsonPatch }),
    remove: ({ resourceType, id }) => client.delete({ resourceType, id }),
  },
  (error) => error.response && { status: error.response.status, document: error.response.data },
);
