// start: for each element with data-module="one two" imports ./one.js, ./two.js and calls their
// default export with the element, once. A module that is missing or throws leaves its element
// as it was, which works without it.

const start = async (element, name) => {
  const module = await import(`./${name}.js`);
  module.default(element);
};

for (const element of document.querySelectorAll('[data-module]')) {
  for (const name of element.dataset.module.split(' ')) {
    start(element, name).catch((why) => console.error(`module ${name}`, why));
  }
}
