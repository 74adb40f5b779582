#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <cstring>
#include <fstream>
#include <functional>
#include <limits>
#include <system_error>
#include <thread>

#include "sim/api/error.hpp"
#include "sim/points/point_exchange.hpp"
#include "sim/points/point_scheduler.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/support/few_threads.hpp"

namespace glassbowl::sim {
namespace {

PointTask task(int i) {
  return {"point " + std::to_string(i), [i] { return std::vector<double>{std::sqrt(i), 1.0 / (1 + i)}; }};
}

std::vector<PointTask> tasks(int count) {
  std::vector<PointTask> out;
  for (int i = 0; i < count; ++i) out.push_back(task(i));
  return out;
}

}  // namespace

TEST_CASE("journal: points come back to the last bit", "[sim][studies]") {
  const CaseFolder folder;
  const std::vector<double> values{0.1, -0.0,     1e-310, std::numeric_limits<double>::infinity(),
                                   NAN, 1.0 / 3.0};
  {
    PointJournal journal(folder / "a.points");
    journal.keep("first", values);
    journal.keep("second", {});
  }
  const PointJournal journal(folder / "a.points");
  REQUIRE(journal.size() == 2);
  const auto back = journal.find("first");
  REQUIRE(back);
  REQUIRE(back->values.size() == values.size());
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (std::isnan(values[i])) {
      CHECK(std::isnan(back->values[i]));
    } else {
      CHECK(std::memcmp(&back->values[i], &values[i], sizeof(double)) == 0);
    }
  }
  CHECK(journal.find("second")->values.empty());
  CHECK_FALSE(journal.find("third"));
}

TEST_CASE("points: within a batch the longest are begun first, results stay in order", "[sim][studies]") {
  std::vector<int> begun;
  std::vector<PointTask> all;
  const int batches[2] = {0, 0};
  for (int i = 0; i < 6; ++i)
    all.push_back({"point " + std::to_string(i),
                   [&begun, i] {
                     begun.push_back(i);
                     return std::vector<double>{static_cast<double>(i)};
                   },
                   {},
                   &batches[i / 3],
                   static_cast<double>(i)});
  const auto results = PointScheduler(nullptr, 1).run(all);
  CHECK(begun == std::vector<int>{2, 1, 0, 5, 4, 3});
  for (int i = 0; i < 6; ++i) CHECK(results[static_cast<std::size_t>(i)].front() == i);
}

TEST_CASE("journal: points that nobody asked for are counted", "[sim][studies]") {
  const CaseFolder folder;
  {
    PointJournal journal(folder / "a.points");
    for (const char* key : {"first", "second", "third"}) journal.keep(key, {{1.0}});
    CHECK(journal.unused() == 0);
  }
  PointJournal journal(folder / "a.points");
  CHECK(journal.unused() == 3);
  journal.find("second");
  journal.find("second");
  journal.find("fourth");
  journal.keep("fifth", {{5.0}});
  CHECK(journal.unused() == 2);
}

TEST_CASE("journal: a kill at any byte costs at most the line being written", "[sim][studies]") {
  const CaseFolder folder;
  {
    PointJournal journal(folder / "a.points");
    for (int i = 0; i < 3; ++i) journal.keep("point " + std::to_string(i), {{static_cast<double>(i)}});
  }
  std::ifstream stream(folder / "a.points", std::ios::binary);
  const std::string text((std::istreambuf_iterator<char>(stream)), {});
  const std::size_t second_line_ends = text.find('\n', text.find('\n', text.find('\n') + 1) + 1) + 1;
  for (std::size_t cut = second_line_ends; cut < text.size(); ++cut) {
    std::ofstream(folder / "cut.points", std::ios::binary) << text.substr(0, cut);
    {
      PointJournal journal(folder / "cut.points");
      CHECK(journal.size() == 2);
      journal.keep("point 2", {{2.0}});
    }
    CHECK(PointJournal(folder / "cut.points").size() == 3);
  }
}

TEST_CASE("journal: a file that is none, and one in use, are refused", "[sim][studies]") {
  const CaseFolder folder;
  const auto file = folder.write("letter.txt", "Dear aunt,\n");
  CHECK_THROWS_WITH(PointJournal(file), Catch::Contains("letter.txt"));
  const PointJournal first(folder / "a.points");
  CHECK_THROWS_WITH(PointJournal(folder / "a.points"), Catch::Contains("another study"));
  CHECK_THROWS_AS(PointJournal(folder / "nowhere" / "a.points"), Error);
}

TEST_CASE("scheduler: results do not depend on the number of threads", "[sim][studies]") {
  PointScheduler one(nullptr, 1), many(nullptr, 7);
  CHECK(one.run(tasks(50)) == many.run(tasks(50)));
  CHECK(many.computed() == 50);
}

TEST_CASE("scheduler: stopped five times it goes on where it was, to the same answer", "[sim][studies]") {
  const CaseFolder folder;
  PointScheduler whole(nullptr, 2);
  const auto wanted = whole.run(tasks(40));
  std::size_t computed = 0;
  for (int round = 0; round < 5; ++round) {
    PointJournal journal(folder / "a.points");
    std::atomic<bool> stop{false};
    int left = 3 + round;
    PointScheduler scheduler(&journal, 2, &stop, [&](std::size_t, std::size_t of) {
      CHECK(of == 40);
      if (--left == 0) stop = true;
    });
    CHECK_THROWS_AS(scheduler.run(tasks(40)), StudyInterrupted);
    CHECK(scheduler.taken_over() == computed);
    computed += scheduler.computed();
    CHECK(journal.size() == computed);
  }
  CHECK(computed >= 25);
  PointJournal journal(folder / "a.points");
  PointScheduler last(&journal, 2);
  CHECK(last.run(tasks(40)) == wanted);
  CHECK(last.computed() == 40 - computed);
}

TEST_CASE("scheduler: what a point throws reaches the caller, and finished points are kept",
          "[sim][studies]") {
  const CaseFolder folder;
  PointJournal journal(folder / "a.points");
  PointScheduler scheduler(&journal, 1);
  auto list = tasks(3);
  list.push_back({"bad", []() -> std::vector<double> { throw Error(ErrorKind::input, "no such key"); }});
  CHECK_THROWS_WITH(scheduler.run(list), "no such key");
  CHECK(journal.size() == 3);
}

TEST_CASE("journal: why a point could not be computed comes back, in one line", "[sim][studies]") {
  const CaseFolder folder;
  const PointResult failed({2.0, NAN}, "the step is too long #1\nat t = 3 s not computed: x");
  {
    PointJournal journal(folder / "a.points");
    journal.keep("failed", failed);
    journal.keep("sound", {{1.0, 2.0}});
  }
  const PointJournal journal(folder / "a.points");
  REQUIRE(journal.size() == 2);
  CHECK(journal.find("failed")->why_not == "the step is too long #1 at t = 3 s not computed: x");
  CHECK(journal.find("failed")->values.size() == 2);
  CHECK(*journal.find("sound") == PointResult({1.0, 2.0}));
}

TEST_CASE("scheduler: points that could not be computed are named in order, once each, and end nothing",
          "[sim][studies]") {
  const CaseFolder folder;
  const auto failing = [](int i) {
    PointTask out = task(i);
    out.compute = [i] { return PointResult({NAN}, "no " + std::to_string(i)); };
    out.name = "point " + std::to_string(i);
    return out;
  };
  const std::vector<PointTask> all{task(1), failing(2), task(3), failing(4), failing(2)};
  for (int round = 0; round < 2; ++round) {  // computed, then from the journal
    PointJournal journal(folder / "a.points");
    PointScheduler scheduler(&journal, 3);
    CHECK(scheduler.run(all).size() == all.size());
    scheduler.run(all);
    REQUIRE(scheduler.failures().size() == 2);
    CHECK(scheduler.failures()[0].name == "point 2");
    CHECK(scheduler.failures()[0].why_not == "no 2");
    CHECK(scheduler.failures()[1].why_not == "no 4");
  }
}

TEST_CASE("scheduler: where the system gives fewer threads, these do all of it", "[sim][studies][anomaly]") {
  const auto wanted = PointScheduler(nullptr, 1).run(tasks(40));
  for (const rlim_t most : {1, 3}) {
    CAPTURE(most);
    CHECK(tests::with_few_threads(most, [&] {
            bool refused = false;
            try {
              std::vector<std::jthread> all;
              for (rlim_t i = 0; i < most; ++i)
                all.emplace_back([] { std::this_thread::sleep_for(std::chrono::milliseconds(200)); });
            } catch (const std::system_error&) {
              refused = true;
            }
            if (!refused) return 3;
            return PointScheduler(nullptr, 8).run(tasks(40)) == wanted ? 0 : 4;
          }) == 0);
  }
}

TEST_CASE("queue: it is over for the workers there are, not for those announced", "[sim][studies]") {
  bool told_of_more = true;
  const auto wait = [&](PointExchange& queue) { told_of_more = queue.wait(); };
  PointExchange two({}, 3);
  two.have_only(2);
  std::thread other(wait, std::ref(two));
  CHECK_FALSE(two.wait());
  other.join();
  CHECK_FALSE(told_of_more);
  told_of_more = true;
  PointExchange one({}, 2);
  std::thread waiting(wait, std::ref(one));
  one.have_only(1);
  waiting.join();
  CHECK_FALSE(told_of_more);
}

}  // namespace glassbowl::sim
