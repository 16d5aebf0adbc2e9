// Stands in for the thread that reads photos, for what real photos seldom do: a photo's name says what happens to it.
import { parentPort } from "node:worker_threads";

parentPort.on("message", ({ id, name, args }) => {
  const send = (answer) => parentPort.postMessage({ id, ...answer });
  if (name === "receive") {
    return send({ value: { widthPx: 400, heightPx: 330, takenAt: null, jpeg: new Uint8Array([0xff, 0xd8]) } });
  }
  if (name === "refuse")
    return send({ value: { reading: reading(args[0].name, args[1]), pictures: null, problem: args[1] } });
  const photo = args[0].name;
  if (photo.startsWith("hang")) for (;;);
  if (photo.startsWith("crash")) process.exit(3);
  if (photo.startsWith("throw")) throw new Error("thrown in the thread");
  if (photo.startsWith("fault"))
    return send({ trouble: { code: "internal", message: "TypeError: x is not a function" } });
  send({ stage: "photo" });
  send({ stage: "view" });
  send({ value: { reading: reading(photo, null), pictures: null, problem: null } });
});

const reading = (name, why) => ({
  photo: { name },
  quality: { usable: !why, issues: why ? [{ say: why.message }] : [] },
});
