#include "trace/prepared.h"

#include "trace/prepared_parts.h"

namespace catoptra {

Stand stand_of(const Scene& scene) {
  return {place(scene, scene.sun.toward), scene.sun.dni_W_m2};
}

PreparedScene::Parts::Parts(const Scene& scene, const Stand& stand)
    : plan(make_plan(scene, stand.layout, stand.dni_W_m2)),
      layout(plan, scene),
      blank(blank_result(plan, scene, layout)) {
  build_searches();
}

PreparedScene::Parts::Parts(const Parts& other) : plan(other.plan), layout(other.layout), blank(other.blank) {
  build_searches();
}

void PreparedScene::Parts::build_searches() {
  nearest = make_search(plan);
  if (plan.covers.empty()) return;
  shadow = make_search(plan, Met::all_but_covers);
  covers = make_search(plan, Met::covers_alone);
}

void PreparedScene::Parts::refit(const Moved& moved) {
  for (Search* search : {nearest.get(), shadow.get(), covers.get()})
    if (search != nullptr) search->refit(moved);
}

PreparedScene::PreparedScene(const Scene& scene, const Stand& stand) : parts_(std::make_unique<Parts>(scene, stand)) {}
PreparedScene::PreparedScene(const PreparedScene& other) : parts_(std::make_unique<Parts>(*other.parts_)) {}
PreparedScene::PreparedScene(PreparedScene&&) noexcept = default;
PreparedScene& PreparedScene::operator=(PreparedScene&&) noexcept = default;
PreparedScene::~PreparedScene() = default;

const Plan& PreparedScene::plan() const {
  return parts_->plan;
}

void PreparedScene::move(const Stand& stand) {
  parts_->refit(move_plan(parts_->plan, stand.layout, stand.dni_W_m2));
}

}  // namespace catoptra
