import { z } from "zod";
import { SampleList } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { RequestError } from "../problems.ts";
import { listSamples } from "../samples.ts";
import { sendFile } from "../send-file.ts";

/** Sample photos to try, without one's own table at hand. */
export function sampleRoutes(folder: string): Endpoint[] {
  return [
    endpoint(
      { method: "get", path: "/api/samples", right: "anyone", says: "Sample photos to try", answer: SampleList },
      async () => ({
        samples: await listSamples(folder),
      }),
    ),
    endpoint(
      {
        method: "get",
        path: "/samples/:file",
        right: "anyone",
        says: "A sample photo",
        params: z.object({ file: z.string() }),
        answerType: "image/jpeg",
      },
      async ({ params, res }) => {
        const photoUrl = `/samples/${params.file}`;
        const listed = (await listSamples(folder)).some((sample) => sample.photoUrl === photoUrl);
        if (!listed) throw new RequestError("not-found", "There is no such sample photo.");
        await sendFile(res, folder, params.file);
      },
    ),
  ];
}
