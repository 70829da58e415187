#include "files/put_design.h"

#include "files/put_common.h"

namespace catoptra {

void put_design(Hdf5File& file, const Design& design) {
  using namespace hdf5_units;
  const Scales over_parameters{"/design/parameter"}, over_variants{"/design/variant"};
  std::vector<std::string> paths;
  std::vector<double> low, high, original, values, objective;
  for (const FreeParameter& p : design.parameters) {
    paths.push_back(p.path);
    low.push_back(p.low);
    high.push_back(p.high);
    original.push_back(p.original);
  }
  std::vector<std::int64_t> numbers;
  for (const Variant& variant : design.variants) {
    numbers.push_back(static_cast<std::int64_t>(numbers.size()));
    values.insert(values.end(), variant.values.begin(), variant.values.end());
    objective.push_back(variant.objective);
  }
  const Units merit = design.schedule.objective == Objective::absorbed_power ? watt : ratio;
  file.put_scale("/design/parameter", std::span<const std::string>(paths), ratio,
                 LongName{"paths of the numbers that were free"});
  file.put_scale("/design/variant", numbers, ratio,
                 LongName{"number of the variant, in the order in which they were tried"});
  file.describe("/design/variant", "best", static_cast<std::int64_t>(design.best));
  file.describe("/design/variant", "original_kept", std::int64_t{design.original_kept ? 1 : 0});
  file.describe("/design/variant", "searched_suns", static_cast<std::int64_t>(design.searched_suns));
  file.put("/design/low", low, over_parameters, ratio, LongName{"lower end of the range, in the key's unit"});
  file.put("/design/high", high, over_parameters, ratio, LongName{"upper end of the range, in the key's unit"});
  file.put("/design/original", original, over_parameters, ratio,
           LongName{"value before the search, in the key's unit"});
  file.put("/design/best", design.variants[design.best].values, over_parameters, ratio,
           LongName{"value of the best variant, in the key's unit"});
  file.put("/design/value", values, {"/design/variant", "/design/parameter"}, ratio,
           LongName{"values tried, in the key's unit"});
  file.put("/design/objective", objective, over_variants, merit,
           LongName{"mean of the objective over the suns of the search, from its samples"});
  put_estimate(file, "/design/", "original_mean", "", design.original, merit,
               "mean of the objective over the schedule's suns, scene as it was, from samples of their own");
  put_estimate(file, "/design/", "best_mean", "", design.found, merit,
               "mean of the objective over the schedule's suns, best variant, from samples of their own");
  put_estimate(file, "/design/", "gain", "", design.gain, merit,
               "best_mean less original_mean, by samples that both have in common");
  file.put("/design/original_source", design.original_text, ratio, LongName{"the exact text of the scene as it was"});
}

}  // namespace catoptra
