//! Serves a record: `cargo run -p web --example open -- collection.umbel 7411`.

#[tokio::main]
async fn main() -> Result<(), web::WebError> {
    let mut words = std::env::args().skip(1);
    let collection = words.next().unwrap_or_else(|| "collection.umbel".to_owned()).into();
    let port = words.next().and_then(|p| p.parse().ok()).unwrap_or(7411);
    let demo = words.next().is_some_and(|w| w == "demo");
    let running =
        web::serve(web::Options { collection, port, demo, ..web::Options::default() }).await?;
    println!("{}", running.address);
    running.run(std::future::pending()).await
}
