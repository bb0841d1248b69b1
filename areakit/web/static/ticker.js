// A clock in a worker: browsers slow the clocks of a page that nobody looks at, and the target must sound all the same.
setInterval(() => postMessage(0), 200);
